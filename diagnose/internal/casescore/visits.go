package main

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/scenarios"
)

// forgets is a journal that keeps nothing.
type forgets struct{}

func (forgets) Append(visiting.Entry) error { return nil }

// A walked visit is what it took and what came of it.
type walked struct {
	before  int // screens before the first instrument
	screens int // a sheet is one
	answers int
	minutes float64 // by the steps' own
	right   bool    // what is wrong leads
}

// walk makes one visit of a scenario by somebody who does all that is asked.
func walk(s *scenarios.Scenario, depth visiting.Depth) (walked, error) {
	v, err := scenarios.Walk(s, visiting.Head{ID: s.ID, StartedAt: s.At, Depth: depth}, belief.Infer, forgets{})
	if err != nil {
		return walked{}, err
	}
	w := measure(v)
	w.right = slices.Contains(s.Truth(), v.Found().Leader().ID)
	return w, nil
}

// measure is what the answers of a visit took.
func measure(v *visiting.Visit) walked {
	w := walked{minutes: v.Minutes()}
	sheet, measured := "", false
	for _, a := range v.History() {
		step, _ := v.Procedure().Step(a.Step)
		if step.Sheet.ID == "" || step.Sheet.ID != sheet {
			w.screens++
		}
		sheet = step.Sheet.ID
		w.answers++
		if measured = measured || step.Meter != ""; !measured {
			w.before = w.screens
		}
	}
	return w
}

// visits walks the practice scenarios at each depth and says what it takes.
func visits(out io.Writer) error {
	table := tabwriter.NewWriter(out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(table, "depth\tplants\tvisits\tright\tscreens before the first instrument\tscreens\tanswers\tminutes")
	for _, depth := range []visiting.Depth{visiting.Full, visiting.Quick, visiting.CallOut} {
		for _, healthy := range []bool{true, false} {
			var sum walked
			n, right := 0, 0
			for _, s := range scenarios.Embedded() {
				if slices.Equal(s.Truth(), []condition.ID{condition.Sound}) != healthy {
					continue
				}
				w, err := walk(s, depth)
				if err != nil {
					return fmt.Errorf("%s: %w", s.ID, err)
				}
				n++
				if w.right {
					right++
				}
				sum = walked{sum.before + w.before, sum.screens + w.screens, sum.answers + w.answers, sum.minutes + w.minutes, false}
			}
			name, kind := cmp.Or(string(depth), "full"), "faulty"
			if healthy {
				kind = "healthy"
			}
			mean := func(x float64) float64 { return x / float64(n) }
			fmt.Fprintf(table, "%s\t%s\t%d\t%d\t%.1f\t%.1f\t%.1f\t%.1f\n", name, kind, n, right,
				mean(float64(sum.before)), mean(float64(sum.screens)), mean(float64(sum.answers)), mean(sum.minutes))
		}
	}
	return table.Flush()
}
