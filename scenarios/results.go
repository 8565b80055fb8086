package scenarios

import (
	"cmp"
	"slices"
	"time"

	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
)

// Result is the session's, once it has ended at the time at.
func (s *Session) Result(at time.Time) (practicelog.Result, bool) {
	d := s.debrief
	if d == nil {
		return practicelog.Result{}, false
	}
	r := practicelog.Result{
		Who: s.who, At: at, Mode: practicelog.OnOnesOwn, Scenario: s.sc.ID, Level: s.sc.Level, Truth: d.Truth, Named: d.Named, Right: d.Right,
		Score: d.Score, Readings: len(d.Rows), Informed: len(d.Informed.Taken), Hints: d.Hints, Breaches: []string{},
	}
	for _, b := range d.Breaches {
		r.Breaches = append(r.Breaches, b.ID)
	}
	for _, q := range d.questions {
		if q.standing == nil {
			continue
		}
		if r.Answers++; !q.good() {
			r.Missed = append(r.Missed, q.standing.ID)
		}
	}
	return r, true
}

// A Family is how a trainee fares with one part of the plant.
type Family struct {
	Part  condition.Part // condition.NoPart: sound systems
	Done  int
	Right int
	Mean  float64 // of the total, 0 to 100
}

// Families are the trainee's free practices by part, the weakest first; parts
// never met stand before all.
func Families(list []practicelog.Result, who string) []Family {
	by := map[condition.Part]*Family{}
	for _, p := range []condition.Part{condition.NoPart, condition.Array, condition.Controller, condition.Battery, condition.Load} {
		by[p] = &Family{Part: p}
	}
	for _, r := range list {
		if r.Who != who || r.Mode != practicelog.OnOnesOwn || len(r.Truth) == 0 {
			continue
		}
		f := by[condition.Of(r.Truth[0]).Part]
		f.Mean = (f.Mean*float64(f.Done) + r.Score.Total) / float64(f.Done+1)
		f.Done++
		if r.Right {
			f.Right++
		}
	}
	var all []Family
	for _, p := range []condition.Part{condition.Array, condition.Battery, condition.Load, condition.Controller, condition.NoPart} {
		all = append(all, *by[p])
	}
	slices.SortStableFunc(all, func(a, b Family) int { return cmp.Compare(a.Mean, b.Mean) })
	return all
}

// Totals of the last practices from which a trainee goes a level up (a choice
// of this project).
const (
	levelUp   = 65
	lastCount = 3
)

// LevelOf is the level a trainee is at: one up for each level at which the last
// three practices came to 65 points in the mean.
func LevelOf(list []practicelog.Result, who string) int {
	for level := 1; level < Levels; level++ {
		var totals []float64
		for _, r := range list {
			if r.Who == who && r.Mode == practicelog.OnOnesOwn && r.Level == level {
				totals = append(totals, r.Score.Total)
			}
		}
		if len(totals) < lastCount {
			return level
		}
		var sum float64
		for _, x := range totals[len(totals)-lastCount:] {
			sum += x
		}
		if sum/lastCount < levelUp {
			return level
		}
	}
	return Levels
}

// Next is the embedded scenario to practise next: of the trainee's level, of the
// weakest part that has one not done yet; else the one done longest ago.
func Next(list []practicelog.Result, who string) *Scenario {
	level := LevelOf(list, who)
	last := map[string]int{}
	for i, r := range list {
		if r.Who == who {
			last[r.Scenario] = i + 1
		}
	}
	var oldest *Scenario
	for _, f := range Families(list, who) {
		for _, s := range Embedded() {
			switch {
			case s.Level != level:
			case s.part() == f.Part && last[s.ID] == 0:
				return s
			case oldest == nil || last[s.ID] < last[oldest.ID]:
				oldest = s
			}
		}
	}
	return oldest
}
