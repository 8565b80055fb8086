package main

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"golang.org/x/tools/txtar"
)

// A made case is its three files and what is behind them.
type made struct {
	site, readings, truth []byte
	world                 *world
	found                 *found
	notebook              *notebook
	lucky                 bool
}

// roles of twelve cases in a row: how many conditions each has. Five are sound.
var roles = [12]int{1, 0, 1, 0, 1, 1, 0, 2, 1, 0, 1, 0}

// soundMoments are gone through by the sound cases.
var soundMoments = []string{sun, weak, sun, night, rundown, sun, dusk, weak, night, sun, rundown}

// leftToChance is the share of faults whose moment is not chosen so that they show.
const leftToChance = 0.25

// deck is the order in which the cases get their conditions: where there are parts, the
// conditions of those before the others and once more after them.
func deck(parts bool) []string {
	var old, added []string
	for _, k := range kinds {
		if k.parts {
			added = append(added, k.id)
		} else {
			old = append(old, k.id)
		}
	}
	if !parts {
		return old
	}
	return slices.Concat(added, old, added)
}

// plan is what the case of that number is to be: its conditions and its moment.
func plan(d dice, number int, parts bool) (ids []string, kind string, arranged bool) {
	role := func(k int) int { return roles[k%len(roles)] }
	before, sound := 0, 0
	for k := range number {
		if role(k) > 0 {
			before++
		} else {
			sound++
		}
	}
	if role(number) == 0 {
		return nil, soundMoments[sound%len(soundMoments)], true
	}
	order := deck(parts)
	first := kindOf(order[before%len(order)])
	ids = []string{first.id}
	for len(ids) < role(number) {
		other := kindOf(pick(d, order...))
		if other.part != first.part && other.id != "controller-dead" {
			ids = append(ids, other.id)
		}
	}
	arranged = d.chance(1 - leftToChance)
	if arranged {
		return ids, pick(d, first.moments...), true
	}
	return ids, pick(d, sun, sun, weak, dusk, night, rundown), false
}

// tries bounds how often a case is drawn anew.
const tries = 400

// makeCase draws cases until one is as planned.
func makeCase(sp *spice, seed uint64, number int, parts bool) (*made, error) {
	d := newDice(seed, uint64(number))
	ids, kind, arranged := plan(d, number, parts)
	for range tries {
		m, err := d.attempt(sp, ids, kind, arranged, parts)
		switch {
		case err == nil:
			return m, nil
		case errors.Is(err, errDraw) || errors.Is(err, errUnsolved):
			if len(ids) > 0 && arranged {
				kind = pick(d, kindOf(ids[0]).moments...)
			}
		default:
			return nil, fmt.Errorf("case %d: %w", number+1, err)
		}
	}
	return nil, fmt.Errorf("case %d: %v at %s was not found in %d draws", number+1, ids, kind, tries)
}

// attempt draws one plant and visits it.
func (d dice) attempt(sp *spice, ids []string, kind string, arranged, parts bool) (*made, error) {
	s, cell := d.drawSite(parts)
	for _, id := range ids {
		if !kindOf(id).applies(s) {
			return nil, errDraw
		}
	}
	if kind == rundown && !s.Control.Output {
		return nil, errDraw
	}
	w := d.drawWorld(s, cell, kind)
	if err := w.withinSound(); err != nil {
		return nil, fmt.Errorf("%w: %w", errDraw, err)
	}
	faulty, twin := w, (*world)(nil)
	if len(ids) > 0 {
		faulty, twin = w.disturbed(d, ids...)
	}
	f, err := faulty.judge(sp)
	if err != nil {
		return nil, err
	}
	if kind == rundown && len(ids) == 0 && !f.cut || kind != rundown && len(ids) == 0 && f.cut {
		return nil, errDraw
	}
	lucky := arranged
	if twin != nil && arranged {
		g, err := twin.judge(sp)
		if err != nil {
			return nil, err
		}
		if !faulty.acts(f, g) {
			return nil, errDraw
		}
	}
	n := newNotebook(d, faulty)
	n.take(f)
	n.spoil()
	return n.finish(f, lucky)
}

// finish writes the files.
func (n *notebook) finish(f *found, lucky bool) (*made, error) {
	site, err := siteTOML(n.w.site)
	if err != nil {
		return nil, err
	}
	truth, err := n.truthJSON(f, lucky)
	if err != nil {
		return nil, err
	}
	m := &made{site: site, readings: n.readingsTOML(), truth: truth, world: n.w, found: f, notebook: n, lucky: lucky}
	return m, m.check()
}

// What shows: more than meters err, by a reading's kind.
const (
	showsV, showsVShare = 0.08, 0.006 // [V] for 12 V
	showsA, showsAShare = 0.08, 0.05  // [A]
	showsSetPointV      = 0.3         // [V] for 12 V
)

// acts reports whether the first condition shows at the moment of the visit.
func (w *world) acts(f, twin *found) bool {
	n := w.site.twelves()
	switch w.conditions[0] {
	case "charge-path-stuck": // 0.4 V above the absorb set-point
		absorb := *w
		absorb.stage = "absorb"
		return w.light >= weakFrom && f.out["v(b)"] >= absorb.setPoint()+0.4*n
	case "set-point-low", "set-point-high":
		return w.light >= weakFrom && math.Abs(f.out["v(b)"]-twin.out["v(b)"]) >= showsSetPointV*n
	case "cut-off-fails":
		return f.stand.output && f.out["v(b)"] <= w.site.Control.CutV-0.3*n
	case "appliance-fault":
		for _, l := range w.site.Loads {
			if l.Label == w.fault.badLoad {
				return w.supplied(f, l) && (w.site.source(l) != fromInverter || w.inverterOn)
			}
		}
		return false
	case "inverter-off":
		return f.out["v(iv)"] > w.site.Inverter.RestoreV
	case "standby-drain":
		return f.values["standby_a"]-twin.values["standby_a"] >= 0.05
	}
	apart := func(x, y float64, amps bool) bool {
		if amps {
			return math.Abs(x-y) > showsA+showsAShare*math.Abs(y)
		}
		return math.Abs(x-y) > showsV*n+showsVShare*math.Abs(y)
	}
	for _, s := range specs {
		if s.meter != voltmeter && s.meter != ampClamp {
			continue
		}
		if x, ok := f.values[s.key]; ok && apart(x, twin.values[s.key], s.meter == ampClamp) {
			return true
		}
	}
	return differ(f.stringA, twin.stringA, showsA) || differ(f.block, twin.block, showsV) || differ(f.blockStep, twin.blockStep, showsV)
}

func differ(a, b []float64, by float64) bool {
	for k := range min(len(a), len(b)) {
		if math.Abs(a[k]-b[k]) > by+0.03*math.Abs(b[k]) {
			return true
		}
	}
	return false
}

// archive puts cases into one file.
func archive(comment string, cases []*made) []byte {
	a := &txtar.Archive{Comment: []byte(comment)}
	for k, m := range cases {
		for _, f := range []struct {
			name string
			data []byte
		}{{"site.toml", m.site}, {"readings.toml", m.readings}, {"truth.json", m.truth}} {
			a.Files = append(a.Files, txtar.File{Name: fmt.Sprintf("%03d/%s", k+1, f.name), Data: slices.Clone(f.data)})
		}
	}
	return txtar.Format(a)
}
