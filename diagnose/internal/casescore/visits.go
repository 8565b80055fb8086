package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"text/tabwriter"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
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
	return measure(v, s), nil
}

func measure(v *visiting.Visit, s *scenarios.Scenario) walked {
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
	truth := s.Truth()
	w.right = slices.Contains(truth, v.Found().Leader().ID)
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

// mostSteps is more than any quick round asks.
const mostSteps = 100

var errNoEnd = errors.New("the quick round does not end")

// quickly makes a quick round of a case: it is asked what such a visit asks, in its order
// and in its minutes, and gives what the case has. What nobody asked for is left out.
func quickly(c knownCase) (knownCase, float64, error) {
	from := c.input.Readings
	v, err := visiting.New(visiting.Head{ID: c.id, SiteTOML: c.siteTOML, StartedAt: from.TakenAt, Depth: visiting.Quick, Instruments: from.Instruments}, forgets{})
	if err != nil {
		return c, 0, err
	}
	for range mostSteps {
		if !v.Prompt().Step.Always {
			r, err := belief.Infer(v.Input())
			if err != nil {
				return c, 0, err
			}
			v.Learn(v.Seq(), r)
		}
		p := v.Prompt()
		if p.Done || p.Step.Rung >= procedure.Restore {
			c.input.Readings = v.Input().Readings
			return c, v.Minutes(), nil
		}
		if err := v.Give(answerFrom(from, p)); err != nil {
			return c, 0, err
		}
	}
	return c, 0, errNoEnd
}

// answerFrom is the answer of a case to a prompt: nothing stands in the way, and what the
// case has no reading of cannot be taken.
func answerFrom(from *reading.Set, p visiting.Prompt) visiting.Answer {
	s, k := p.Step, p.Step.Reading
	if s.Notes != "" {
		k = s.Notes
	}
	a := visiting.Answer{Step: s.ID, Kind: visiting.Took, Reading: s.Reading, Doubted: from.Doubted[k], Repeats: p.Once, At: from.TakenAt}
	switch {
	case s.Kind == procedure.Confirm:
		a.Kind, a.Word = visiting.Did, s.Good
	case s.Kind == procedure.Act:
		a.Kind, a.Word = visiting.Did, procedure.ActDone
	case s.ID == "loads-on" && from.LoadsOn != nil:
		a.Chosen = from.LoadsOn
	case !from.Has(k):
		a.Kind = visiting.Cannot
	case s.Kind == procedure.Choose:
		a.Chosen = slices.Clone(from.Several[k])
		if from.Words[k] == "true" {
			a.Chosen = []string{"true"}
		}
	default:
		x, isNumber := from.Numbers[k]
		a.Word, a.List = from.Words[k], from.Lists[k]
		if isNumber {
			a.Number = &x
		}
	}
	return a
}
