package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"gonum.org/v1/gonum/stat"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// A share is how many of how many.
type share struct{ hits, of int }

func (s *share) add(hit bool) {
	s.of++
	if hit {
		s.hits++
	}
}

func (s share) percent() float64 { return 100 * float64(s.hits) / float64(s.of) }

func (s share) String() string {
	if s.of == 0 {
		return "none"
	}
	return fmt.Sprintf("%5.1f %%  (%d of %d)", s.percent(), s.hits, s.of)
}

// A mean of figures.
type mean struct {
	sum float64
	n   int
}

func (m *mean) add(x float64) { m.sum += x; m.n++ }

func (m mean) String() string {
	if m.n == 0 {
		return "none"
	}
	return fmt.Sprintf("%.3f  (%d cases)", m.sum/float64(m.n), m.n)
}

// minP bounds a log loss: no answer is taken as surer than one in a thousand.
const minP = 1e-3

// suspectFrom is the probability from which a reading counts as named suspect.
const suspectFrom = 0.5

// tally sums the judgements up in words and figures.
func tally(js []judgement) string {
	var first, three, sound, calledFaulty, doubles, cover share
	var charge, loss, lossUnlucky mean
	var daylight, charging, regulating, cut share
	var named, truly, both int
	var said calibration
	var took []float64
	for i := range js {
		j := &js[i]
		t := &j.truth
		took = append(took, float64(j.took))
		rank := j.rank()
		switch {
		case t.sound():
			sound.add(j.result.Of(condition.Sound) > 0.5)
			calledFaulty.add(j.result.Of(condition.Sound) < 0.5)
		case len(t.Conditions) == 2:
			doubles.add(rank < 3)
		case t.lucky():
			first.add(rank == 0)
			three.add(rank < 3)
		}
		if len(t.Conditions) == 1 {
			l := -math.Log(max(minP, j.result.Of(t.Conditions[0])))
			loss.add(l)
			if !t.sound() && !t.lucky() {
				lossUnlucky.add(l)
			}
		}
		level := j.result.State.ChargeLevel
		charge.add(math.Abs(level.Mean - t.State.ChargeLevel))
		cover.add(level.P05 <= t.State.ChargeLevel && t.State.ChargeLevel <= level.P95)
		s := &j.result.State
		daylight.add(s.Daylight > 0.5 == t.State.Daylight)
		charging.add(s.Charging > 0.5 == t.State.Charging)
		regulating.add(s.Regulating > 0.5 == t.State.Regulating)
		if t.State.LoadsCut != nil {
			cut.add(s.LoadsCut > 0.5 == *t.State.LoadsCut)
		}
		var suspected []reading.Key
		for _, x := range j.result.Suspects {
			if x.P > suspectFrom {
				suspected = append(suspected, x.Reading)
			}
		}
		named += len(suspected)
		truly += len(t.Suspect)
		for _, k := range t.Suspect {
			if slices.Contains(suspected, k) {
				both++
			}
		}
		for _, p := range j.result.Conditions {
			if p.P < 0.1 {
				continue
			}
			said.add(p.P, slices.Contains(t.Conditions, p.ID))
		}
	}
	slices.Sort(took)
	quantile := func(p float64) time.Duration {
		return time.Duration(stat.Quantile(p, stat.Empirical, took, nil)).Round(time.Millisecond)
	}
	var w strings.Builder
	row := func(what string, x any) { fmt.Fprintf(&w, "%-58s %v\n", what, x) }
	row("single faults arranged to act: true condition first", first)
	row("  and among the first three", three)
	row("sound cases believed sound (P > 0.5)", sound)
	row("  called faulty (P < 0.5)", calledFaulty)
	row("two faults: both among the first three", doubles)
	row("log loss, single and sound [nat]", loss)
	row("  single faults left to chance", lossUnlucky)
	if len(said) > 0 {
		row("expected calibration error, P above 0.1", fmt.Sprintf("%.3f", said.err()))
		chance, low, high := said.byChance()
		row("  by chance, were every probability right", fmt.Sprintf("%.3f  (%.3f to %.3f)", chance, low, high))
	}
	row("charge level, mean error", charge)
	row("  within the 90 % interval", cover)
	row("daylight right", daylight)
	row("charging right", charging)
	row("regulating right", regulating)
	row("loads cut right", cut)
	row("wrong readings found", share{both, truly})
	row("  readings named that were wrong", share{both, named})
	row("time of one inference", fmt.Sprintf("median %v, p95 %v", quantile(0.5), quantile(0.95)))
	w.WriteString(byPart(js))
	w.WriteString(said.bins())
	return w.String()
}
