package outlook

import (
	"math"
	"time"
)

// Week is the seven days from now on, all loads as planned.
type Week struct {
	From   time.Time `json:"from,omitzero"`
	StepH  float64   `json:"step_h"` // between two levels [h]
	Level  []Band    `json:"level"`  // charge, part of what the battery holds today
	Cut    []float64 `json:"cut"`    // probability that the loads have been without power by the end of each day
	Lowest Band      `json:"lowest"` // charge
	Books  Books     `json:"books"`  // means over the draws
}

const (
	weekStep  = 30 * time.Minute
	weekDays  = 7
	weekSteps = weekDays * int(24*time.Hour/weekStep)
	everyStep = 6 // of which one level is kept
)

func (l *looker) week() Week {
	w := Week{From: l.at, StepH: everyStep * weekStep.Hours()}
	s := newStretch(l.climate, l.at, weekStep, weekSteps, l.uses)
	n := len(l.draws)
	kept := weekSteps/everyStep + 1
	levels := make([][]float64, kept) // by time, by draw
	for i := range levels {
		levels[i] = make([]float64, n)
	}
	lowest, first, books := make([]float64, n), make([]float64, n), make([]Books, n)
	watts := make([]powers, weekSteps)
	for i := range watts {
		watts[i] = s.watts(i, allPriorities)
	}
	each(n, func(k int) {
		r := l.runner(k)
		low, cut := r.u.SoC, math.Inf(1)
		r.lead(s, l.climate.days(k, l.at, s.number+1, l.found[k]), l.mean[k], func(i int) powers { return watts[i] }, func(i int) {
			low = min(low, r.u.SoC)
			if i%everyStep == 0 {
				levels[i/everyStep][k] = r.u.SoC
			}
			if !r.fed() && math.IsInf(cut, 1) {
				cut = float64(i) * weekStep.Hours()
			}
		})
		levels[kept-1][k] = r.u.SoC
		lowest[k], first[k], books[k] = low, cut, r.books
	})
	w.Cut = make([]float64, weekDays)
	for d := range w.Cut {
		for k := range n {
			if first[k] < float64(24*(d+1)) {
				w.Cut[d] += 1 / float64(n)
			}
		}
	}
	for i := range levels {
		w.Level = append(w.Level, bandOf(levels[i]))
	}
	w.Lowest = bandOf(lowest)
	for k := range books {
		w.Books.add(&books[k], 1/float64(n))
	}
	return w
}

func (b *Books) add(x *Books, share float64) {
	b.In += x.In * share
	b.Loads += x.Loads * share
	b.Own += x.Own * share
	b.Drain += x.Drain * share
	b.Stored += x.Stored * share
	b.Wires += x.Wires * share
	b.Heat += x.Heat * share
	b.Gas += x.Gas * share
	b.Toll += x.Toll * share
	b.Over += x.Over * share
	b.Spare += x.Spare * share
	b.Missing += x.Missing * share
}
