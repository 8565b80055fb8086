package main

import (
	"cmp"
	"fmt"
	"reflect"
	"runtime"
	"slices"
	"sync"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios"
)

// A course is a visit that was really made, at the bench of a scenario: what visits
// of many sites and times are varied from.
type course struct {
	entries   []visiting.Entry
	condition condition.ID // that it found
	p         float64      // of that
	plant     string       // the kind that it was made at: voltage and battery
	share     float64      // how often a programme has it
}

// newCourse says how often a programme has such a course, beside others to the same end.
func newCourse(entries []visiting.Entry, found belief.Posterior, plant string) course {
	const clear, unclear = 0.8, 0.15
	c := course{entries: entries, condition: found.ID, p: found.P, plant: plant, share: condition.Of(found.ID).Prior}
	if c.p < clear {
		c.share *= unclear
	}
	return c
}

// courses are walked by the procedure, each to a short, a usual and a long end. The
// inference runs once for each, at its end: a visit's conclusion is real, its order
// that of the steps.
func courses(cases []*scenarios.Scenario) ([]course, error) {
	var list []course
	var lock sync.Mutex
	var walkers sync.WaitGroup
	var failed error
	todo := make(chan func() (course, error))
	for range runtime.GOMAXPROCS(0) {
		walkers.Go(func() {
			for walk := range todo {
				c, err := walk()
				lock.Lock()
				if err != nil && failed == nil {
					failed = err
				}
				list = append(list, c)
				lock.Unlock()
			}
		})
	}
	for _, s := range cases {
		for _, readings := range []int{8, 14, 22} {
			todo <- func() (course, error) { return walk(s, readings) }
		}
	}
	close(todo)
	walkers.Wait()
	slices.SortFunc(list, func(a, b course) int {
		return cmp.Or(cmp.Compare(a.entries[0].Head.ID, b.entries[0].Head.ID), len(a.entries)-len(b.entries))
	})
	return list, failed
}

// kept keeps entries in memory.
type kept struct{ entries []visiting.Entry }

func (k *kept) Append(e visiting.Entry) error {
	k.entries = append(k.entries, e)
	return nil
}

func walk(s *scenarios.Scenario, readings int) (course, error) {
	var k kept
	v, err := scenarios.Walk(s, visiting.Head{ID: s.ID, StartedAt: s.At}, upTo(readings), &k)
	if err != nil {
		return course{}, fmt.Errorf("%s: %w", s.ID, err)
	}
	if err := v.Conclude(); err != nil {
		return course{}, fmt.Errorf("%s: %w", s.ID, err)
	}
	return newCourse(k.entries, v.Belief().Leader(), fmt.Sprint(s.Site.NominalV, s.Site.Battery.Chemistry)), nil
}

// upTo is a belief that finds every reading worth taking until there are so many,
// and then the one that they lead to.
func upTo(most int) visiting.Inferrer {
	var last *belief.Result
	var known belief.Input
	return func(in belief.Input) (*belief.Result, error) {
		r := &belief.Result{Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.5}, {ID: condition.ArrayOpen, P: 0.5}}}
		taken := 0
		for _, s := range reading.Specs {
			if in.Readings.Has(s.Key) {
				taken++
			}
		}
		if taken >= most {
			if last != nil && reflect.DeepEqual(in, known) {
				return last, nil
			}
			r, err := belief.Infer(in)
			if err == nil {
				r.Gains = nil
				last, known = r, in
			}
			return r, err
		}
		for _, s := range reading.Specs {
			if taken < most && !in.Readings.Has(s.Key) {
				r.Gains = append(r.Gains, belief.Gain{Reading: s.Key, Bits: 1})
			}
		}
		return r, nil
	}
}
