package main

import (
	"errors"
	"fmt"
	"io"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
)

// A round is what a quick round made of a case, beside all that the case has.
type round struct {
	knownCase // with what the round asked for
	all       *reading.Set
	took      walked // until nothing more was measured
	full      bool   // by all readings what is wrong leads
	right     bool   // by those of the round
	needs     []string
	err       error
}

// judgeable reports whether there is light enough to judge the array.
func (r *round) judgeable() bool {
	light, read := r.all.Numbers[reading.Irradiance]
	return r.truth.State.Daylight && (!read || light >= belief.BrightFrom)
}

// quickRounds makes a quick round of each case, on all processors.
func quickRounds(cases []knownCase, progress io.Writer) ([]round, error) {
	out := make([]round, len(cases))
	var next, done atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= len(cases) {
					return
				}
				out[i] = roundOf(cases[i])
				fmt.Fprintf(progress, "%d of %d: case %s\n", done.Add(1), len(cases), cases[i].id)
			}
		})
	}
	wg.Wait()
	for _, r := range out {
		if r.err != nil {
			return nil, fmt.Errorf("case %s: %w", r.id, r.err)
		}
	}
	return out, nil
}

// roundOf makes the round of a case. Where all readings are right and those of the round
// are not, it looks for what is missing.
func roundOf(c knownCase) round {
	r := round{all: c.input.Readings}
	r.full, r.err = leads(c)
	if r.err == nil {
		r.knownCase, r.took, r.err = quickly(c)
	}
	if r.err == nil {
		r.right, r.err = leads(r.knownCase)
	}
	if r.err == nil && r.judgeable() && r.full && !r.right {
		r.needs, r.err = missing(c, r.input.Readings)
	}
	return r
}

// leads reports whether what is wrong leads by the readings of the case.
func leads(c knownCase) (bool, error) {
	b, err := belief.Infer(c.input)
	return err == nil && slices.Contains(c.truth.Conditions, b.Leader().ID), err
}

// missing are the readings of the case of which one alone, beside those taken, has what is
// wrong lead, each with the rung that it is on; nil where it takes several.
func missing(c knownCase, taken *reading.Set) ([]string, error) {
	var list []string
	course := procedure.For(c.input.Site)
	for _, k := range tell(c).keys() {
		if taken.Has(k) {
			continue
		}
		t := telling{c, taken.Clone()}
		t.reveal(k)
		with := c
		with.input.Readings = t.told
		right, err := leads(with)
		if err != nil {
			return nil, err
		}
		if s, ok := course.StepFor(k); ok && right {
			list = append(list, fmt.Sprintf("%s (%s)", k, s.Rung))
		}
	}
	return list, nil
}

// roundTable sums the rounds up and says what those that lost would have needed.
func roundTable(rs []round) string {
	var w, lost strings.Builder
	var full, kept share
	var minutes, screens mean
	for i := range rs {
		r := &rs[i]
		minutes.add(r.took.minutes)
		screens.add(float64(r.took.screens))
		if !r.judgeable() {
			continue
		}
		full.add(r.full)
		if !r.full {
			continue
		}
		if kept.add(r.right); r.right {
			continue
		}
		needs := "more than one reading"
		if len(r.needs) > 0 {
			needs = strings.Join(r.needs, " or ")
		}
		fmt.Fprintf(&lost, "%s %-32s needs %s\n", r.id, join(r.truth.Conditions), needs)
	}
	row := func(what string, x any) { fmt.Fprintf(&w, "%-58s %v\n", what, x) }
	row("minutes until nothing more is measured, mean", minutes)
	row("screens until then, mean", screens)
	row("where the array can be judged: right by all readings", full)
	row("  of these right by a quick round", kept)
	if lost.Len() > 0 {
		w.WriteString("\nright by all readings, and not by a quick round:\n" + lost.String())
	}
	return w.String()
}

// mostSteps is more than any quick round asks.
const mostSteps = 100

var errNoEnd = errors.New("the quick round does not end")

// quickly makes a quick round of a case: it is asked what such a visit asks, in its order
// and in its minutes, and gives what the case has. What nobody asked for is left out.
func quickly(c knownCase) (knownCase, walked, error) {
	from := c.input.Readings
	v, err := visiting.New(visiting.Head{ID: c.id, SiteTOML: c.siteTOML, StartedAt: from.TakenAt, Depth: visiting.Quick, Instruments: from.Instruments}, forgets{})
	if err != nil {
		return c, walked{}, err
	}
	var known *reading.Set
	var r *belief.Result
	for range mostSteps {
		if !v.Prompt().Step.Always {
			in := v.Input()
			if !reflect.DeepEqual(known, in.Readings) { // a confirmation says nothing of the plant
				if r, err = belief.Infer(in); err != nil {
					return c, walked{}, err
				}
				known = in.Readings
			}
			v.Learn(v.Seq(), r)
		}
		p := v.Prompt()
		if p.Done || p.Step.Rung >= procedure.Restore {
			c.input.Readings = v.Input().Readings
			return c, measure(v), nil
		}
		if err := v.Give(answerFrom(from, p)); err != nil {
			return c, walked{}, err
		}
	}
	return c, walked{}, errNoEnd
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
