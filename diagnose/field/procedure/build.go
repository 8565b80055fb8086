package procedure

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/halfsplit"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A rule is what the search reads of a step: indices for ids, bits for flags.
type rule struct {
	requires, forbids, sets, clears flagSet
	undoes                          flagSet // open flag that this Act puts back
	needs, first, after, renews     []int
	skips                           map[string][]int // of a word taken: steps not asked after it
	leaves                          map[string][]int // likewise of the id of a choice
	lacking                         []int
	when                            when
	words                           map[string]flagSet // of a word taken: what it sets
	repairs                         bool               // a repair
	dark                            darkRule           // an array without light is as good as isolated

	closed     dangerSet // dangers that close it while they last
	closedOpen dangerSet // dangers that close it until they are made safe
}

// For is the procedure of s: steps that s does not have, or that would touch a
// circuit above the limits, are not in it.
func For(s *site.Site) *Procedure {
	p, err := build(s, embedded())
	if err != nil {
		panic(fmt.Sprintf("procedure: steps.toml: %v", err))
	}
	return p
}

// Depths of visit that ask fewer steps than [For].
const (
	QuickRound = "quick"    // little time
	CallOut    = "call-out" // for a known complaint, which is asked first
)

// At is the procedure of s for a visit of that depth: without the steps that it leaves out,
// those that it begins with first.
func At(s *site.Site, depth string) *Procedure {
	c := embedded()
	var first, rest []stepData
	for _, d := range c.Steps {
		switch {
		case slices.Contains(d.LeftOut, depth):
		case slices.Contains(d.Begins, depth):
			first = append(first, d)
		default:
			rest = append(rest, d)
		}
	}
	c.Steps = append(first, rest...)
	p, err := build(s, c)
	if err != nil {
		panic(fmt.Sprintf("procedure: steps.toml at depth %q: %v", depth, err))
	}
	return p
}

func build(s *site.Site, c catalogue) (*Procedure, error) {
	f := factsOf(s)
	p := &Procedure{index: map[string]int{}, whys: c.Whys}
	for _, l := range limitsOf(s) {
		text, err := f.write(c.Limits[l])
		if err != nil {
			return nil, err
		}
		p.Limits = append(p.Limits, text)
	}
	var kept []stepData
	for _, d := range c.Steps {
		if applies(s, d) {
			kept = append(kept, each(s, d)...)
		}
	}
	kept = prune(kept)
	for i, d := range kept {
		step, err := d.step(s, f, c)
		if err != nil {
			return nil, fmt.Errorf("step %s: %w", d.ID, err)
		}
		if _, twice := p.index[d.ID]; twice {
			return nil, fmt.Errorf("step %s stands twice", d.ID)
		}
		if d.ID == "limits" {
			step.Do = strings.Join(p.Limits, " ")
		}
		p.Steps = append(p.Steps, step)
		p.index[d.ID] = i
	}
	p.link(kept)
	return p, p.linkDangers(s, f, c, kept)
}

// applies reports whether the site has what d is about, and permits it.
func applies(s *site.Site, d stepData) bool {
	for _, name := range d.If {
		if !siteHas[name](s) {
			return false
		}
	}
	for _, name := range d.Unless {
		if siteHas[name](s) {
			return false
		}
	}
	return touchable(s, d.Touches)
}

// each makes of a step for each lamp, or for each node of a circuit, one step of each.
func each(s *site.Site, d stepData) []stepData {
	var steps []stepData
	switch d.Each {
	case "":
		return []stepData{d}
	case "node":
		circuit := string(d.Touches)
		for _, n := range halfsplit.ChainOf(s, halfsplit.Circuit(circuit)).Nodes {
			d := d
			d.base, d.Reading = d.ID, reading.At(circuit, n.ID)
			d.ID, d.Place, d.Minutes = string(d.Reading), placeName(n.Place), n.Minutes
			d.Title, d.Do, d.Probes, d.Red, d.Black = n.Title, n.Do, n.Probes, n.Red, n.Black
			d.Caution = strings.TrimSpace(n.Caution + " " + d.Caution)
			if n.Place == "controller" { // where the other circuits' terminals are
				d.Touches = controllerCircuit
			}
			if touchable(s, d.Touches) {
				steps = append(steps, d)
			}
		}
		return steps
	}
	lamps, key := s.Controller.Lamps, reading.Lamp
	if d.Each == "inverter-lamp" {
		lamps, key = nil, reading.InverterLamp
		if s.Inverter != nil {
			lamps = s.Inverter.Lamps
		}
	}
	for _, l := range lamps {
		d.Reading = key(l.Label)
		d.ID = string(d.Reading)
		steps = append(steps, d)
	}
	return steps
}

// prune leaves out steps that others, left out already, were for: those whose
// required flag nothing sets, those after none, Acts that set what no step
// requires, and confirmations that open nothing.
func prune(steps []stepData) []stepData {
	for {
		n := len(steps)
		steps = slices.DeleteFunc(steps, func(d stepData) bool {
			for _, f := range d.Requires {
				if !slices.ContainsFunc(steps, func(o stepData) bool { return slices.Contains(o.Sets, f) }) {
					return true
				}
			}
			if len(d.After) > 0 && !slices.ContainsFunc(steps, func(o stepData) bool { return slices.Contains(d.After, o.ID) }) {
				return true
			}
			if d.When == left && !slices.ContainsFunc(steps, func(o stepData) bool { return len(o.undone()) > 0 }) {
				return true
			}
			if d.When == probed && !slices.ContainsFunc(steps, func(o stepData) bool { return o.Red != "" }) {
				return true
			}
			if d.When == danger {
				return false
			}
			if d.Kind == Act && len(d.Sets) > 0 && len(d.Opens) == 0 {
				return !slices.ContainsFunc(steps, func(o stepData) bool { return o.isFor(d.Sets) })
			}
			if len(d.Opens) > 0 && !d.Stops && d.Rung != Prepare {
				return !slices.ContainsFunc(steps, func(o stepData) bool { return o.needs(d) })
			}
			return false
		})
		if len(steps) == n {
			return steps
		}
	}
}

// isFor reports whether d is a reading, or an Act on the way to one, that
// requires one of fs.
func (d stepData) isFor(fs []Flag) bool {
	onward := d.Kind == Take || d.Kind == Act && len(d.Sets) > 0 || d.When == byVisit
	return onward && slices.ContainsFunc(d.Requires, func(f Flag) bool { return slices.Contains(fs, f) })
}

// needs reports whether confirm opens d. A confirmation, or an Act such as
// opening a cover, opens readings and Acts; putting back is opened only by name.
func (d stepData) needs(confirm stepData) bool {
	if d.ID == confirm.ID || d.Kind == Confirm {
		return false
	}
	return slices.Contains(confirm.Opens, d.ID) || d.base != "" && slices.Contains(confirm.Opens, d.base) ||
		slices.Contains(confirm.Opens, d.Rung.String()) && len(d.undone()) == 0
}

// undone are the open flags that d puts back.
func (d stepData) undone() []Flag {
	if d.Kind != Act {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(d.Clears), func(f Flag) bool {
		return bit(f)&openFlags == 0 || !slices.Contains(d.Requires, f)
	})
}

// step writes the texts of d for the site.
func (d stepData) step(s *site.Site, f facts, c catalogue) (Step, error) {
	st := Step{
		ID: d.ID, Rung: d.Rung, Kind: d.Kind, Reading: d.Reading, Minutes: d.Minutes,
		Red: d.Red, Black: d.Black, Clamp: d.Clamp,
		Requires: d.Requires, Forbids: d.Forbids, Sets: d.Sets, Clears: d.Clears,
		Good: d.Good, First: d.First, After: d.After, Compare: d.Compare,
		Place: string(d.Place), Source: d.Source, Holds: d.Holds, Skip: c.Skips.of(d),
		Notes: d.Notes, Always: d.Always, Skips: d.Skips, Stops: d.Stops, StopAbove: d.StopAbove,
	}
	if st.Kind == Confirm && st.Good == "" {
		st.Good = "yes"
	}
	var ok bool
	if st.Sheet, ok = c.sheet(d.Sheet); !ok {
		return st, fmt.Errorf("sheet %q unknown", d.Sheet)
	}
	for _, r := range c.Rungs {
		if r.Name == d.Rung {
			st.RungTitle, st.Codes, st.Reasons = r.Title, r.Codes, r.Reasons
		}
	}
	if label, ok := d.Reading.LampLabel(); ok {
		f.Lamp = plaintext.Clean(label)
	}
	if label, ok := d.Reading.InverterLabel(); ok {
		f.Lamp = plaintext.Clean(label)
	}
	if err := st.choose(s, d, f); err != nil {
		return st, err
	}
	for _, t := range []struct {
		to   *string
		text string
	}{
		{&st.Title, d.Title}, {&st.Purpose, d.Purpose}, {&st.Do, d.Do}, {&st.Meter, d.Meter},
		{&st.Probes, d.Probes}, {&st.Surprise, d.Surprise}, {&st.Caution, d.Caution},
		{&st.Who, d.Who}, {&st.StopText, d.StopText}, {&st.Normal, d.Normal},
	} {
		text, err := f.write(t.text)
		if err != nil {
			return st, err
		}
		*t.to = text
	}
	return st, nil
}

// choose gives the step its choices and checks: its own of steps.toml, the
// words of its reading or of its lamp, or the listed loads.
func (st *Step) choose(s *site.Site, d stepData, f facts) error {
	for _, c := range d.Checks {
		text, err := f.write(c.Text)
		if err != nil {
			return err
		}
		if text != "" {
			st.Checks = append(st.Checks, Choice{c.ID, text})
		}
	}
	for _, o := range d.Choices {
		text, err := f.write(o.Text)
		if err != nil {
			return err
		}
		if o.Text = text; text == "" {
			continue
		}
		st.options = append(st.options, o)
		st.Choices = append(st.Choices, o.choice())
	}
	if len(d.Choices) > 0 {
		return nil
	}
	if d.Kind == Choose {
		for _, l := range s.Loads {
			st.Choices = append(st.Choices, Named(l.Label)...)
		}
		return nil
	}
	var lamp site.Lamp
	if label, ok := d.Reading.LampLabel(); ok {
		lamp, _ = s.Lamp(label)
	}
	if label, ok := d.Reading.InverterLabel(); ok {
		lamp, _ = s.InverterLamp(label)
	}
	for _, look := range lamp.Looks {
		st.Choices = append(st.Choices, Named(look.Look)...)
	}
	if len(lamp.Looks) > 0 {
		return nil
	}
	if spec, ok := reading.SpecOf(d.Reading); ok {
		st.Choices = Named(spec.Choices...)
	}
	return nil
}

// link makes the rules of the steps, dropping references to steps left out.
func (p *Procedure) link(kept []stepData) {
	for i := range p.undo {
		p.undo[i], p.set[i] = -1, -1
	}
	p.rules = make([]rule, len(kept))
	for i, d := range kept {
		r := &p.rules[i]
		*r = rule{
			requires: setOf(d.Requires...), forbids: setOf(d.Forbids...),
			sets: setOf(d.Sets...), clears: setOf(d.Clears...), undoes: setOf(d.undone()...),
			first: p.indices(d.First), after: p.indices(d.After), when: d.When,
			renews: p.indices(d.Renews), skips: map[string][]int{}, leaves: map[string][]int{}, lacking: p.indices(d.Lacking),
			dark: darkRule(d.Dark), repairs: d.Repairs != "", words: map[string]flagSet{},
		}
		for word, ids := range d.Skips {
			r.skips[word] = p.indices(ids)
		}
		for word, fs := range d.Words {
			r.words[word] = setOf(fs...)
		}
		for _, o := range p.Steps[i].options {
			r.leaves[o.ID] = p.indices(o.Skips)
		}
		if d.When == left {
			p.relabel = append(p.relabel, i)
		}
		for j, o := range kept {
			if d.needs(o) {
				r.needs = append(r.needs, j)
				p.Steps[i].Needs = append(p.Steps[i].Needs, o.ID)
			}
		}
		for b := range flags {
			if r.undoes&(1<<b) != 0 {
				p.undo[b] = i
			} else if d.Kind == Act && r.sets&(1<<b) != 0 {
				p.set[b] = i
			}
		}
	}
	for i := range p.rules {
		for j, o := range kept {
			doubted := p.Steps[i].Red != "" && o.When == probed                                         // by a probed reading
			opened := p.Steps[i].Kind == Act && p.rules[i].sets&openFlags != 0 && o.When == stoppedOpen // again: is it safe to put it back?
			if doubted || opened {
				p.rules[i].renews = append(p.rules[i].renews, j)
			}
		}
	}
}

func (p *Procedure) indices(ids []string) (is []int) {
	for _, id := range ids {
		if i, ok := p.index[id]; ok {
			is = append(is, i)
		}
	}
	return is
}
