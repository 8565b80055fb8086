package main

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"time"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
)

// How the visits of people differ from the even course (choices of this project).
const (
	readNoise    = 0.002 // of a reading, relative
	namedShare   = 0.75  // of open work, for which somebody is named
	skippedShare = 0.03  // of visits, with a precaution that was not confirmed
	openShare    = 0.015 // with something left isolated
	suspectShare = 0.03  // with a reading held for wrong and kept
	lateShare    = 0.04  // with an answer changed long after it was given
	fastShare    = 0.02  // typed in faster than anyone measures
)

// varied are the entries of a course behind its head, at another time, by people who
// are not all alike.
func (p *programme) varied(entries []visiting.Entry, shift time.Duration, rng *rand.Rand) []visiting.Entry {
	list := make([]visiting.Entry, len(entries))
	var c *visiting.Conclusion
	for i, e := range entries {
		list[i] = moved(e, shift, rng)
		if list[i].Conclusion != nil {
			c = list[i].Conclusion
		}
	}
	if c != nil {
		c.Conditions = slices.Clone(c.Conditions)
		if len(c.Conditions) > 0 {
			lead := &c.Conditions[0].Probability
			*lead = visiting.Rounded(min(0.995, max(0.3, float64(*lead)+0.03*rng.NormFloat64())))
		}
		p.agree(list, c, rng)
		mishaps(list, c, rng)
	}
	if rng.Float64() < fastShare {
		hurry(list)
	}
	if rng.Float64() < lateShare {
		list = changedLate(list, rng)
	}
	return list
}

// moved is an entry at another time, its numbers a little different.
func moved(e visiting.Entry, shift time.Duration, rng *rand.Rand) visiting.Entry {
	switch {
	case e.Answer != nil:
		a := *e.Answer
		a.At = a.At.Add(shift)
		if a.Number != nil && a.Kind == visiting.Took {
			x := math.Round(*a.Number*(1+readNoise*rng.NormFloat64())*100) / 100
			a.Number, a.Typed = &x, fmt.Sprint(x)
		}
		e.Answer = &a
	case e.End != nil:
		end := *e.End
		end.At = end.At.Add(shift)
		e.End = &end
	case e.Conclusion != nil:
		c := *e.Conclusion
		c.At, c.Left = c.At.Add(shift), slices.Clone(c.Left)
		for i, l := range c.Left {
			if day, err := time.Parse(time.DateOnly, l.Due); err == nil {
				c.Left[i].Due = day.Add(shift).Format(time.DateOnly)
			}
		}
		e.Conclusion = &c
	}
	return e
}

// agree names who sees to most of what is left, by a day.
func (p *programme) agree(list []visiting.Entry, c *visiting.Conclusion, rng *rand.Rand) {
	for i, step := range []string{"open-work", "open-work-too"} {
		at := slices.IndexFunc(list, func(e visiting.Entry) bool { return e.Answer != nil && e.Answer.Step == step })
		if at < 0 || i >= len(c.Left) || rng.Float64() >= namedShare {
			continue
		}
		l := &c.Left[i]
		l.Who, l.By = p.staff[rng.IntN(len(p.staff))], c.At.AddDate(0, 0, 2+rng.IntN(60)).Format(time.DateOnly)
		l.Due = l.By
		a := list[at].Answer
		a.Reason = l.Who + ", " + l.By
		a.Typed, a.Word = a.Reason, procedure.ActDone
		a.About, a.Labels = string(l.Condition), []string{condition.Of(l.Condition).Title}
	}
}

// mishaps are what a supervisor looks for.
func mishaps(list []visiting.Entry, c *visiting.Conclusion, rng *rand.Rand) {
	if rng.Float64() < skippedShare {
		if a := one(list, rng, func(a *visiting.Answer) bool { return a.Word == "yes" && len(a.Chosen) > 1 }); a != nil {
			*a = visiting.Answer{Step: a.Step, Kind: visiting.Cannot, Reason: "not at hand", At: a.At}
			c.Skipped = []string{a.Step}
		}
	}
	if rng.Float64() < openShare {
		c.NotBack = []string{procedure.ArrayIsolated.Text() + ": a lug is loose"}
	}
	if rng.Float64() < suspectShare {
		if a := one(list, rng, isReading); a != nil {
			c.Suspect = []visiting.SuspectReading{{Reading: a.Reading, Probability: 0.7}}
		}
	}
}

func isReading(a *visiting.Answer) bool { return a.Kind == visiting.Took && a.Number != nil }

// one is any of the answers that are as wanted, nil if none is.
func one(list []visiting.Entry, rng *rand.Rand, wanted func(*visiting.Answer) bool) *visiting.Answer {
	var all []*visiting.Answer
	for _, e := range list {
		if e.Answer != nil && wanted(e.Answer) {
			all = append(all, e.Answer)
		}
	}
	if len(all) == 0 {
		return nil
	}
	return all[rng.IntN(len(all))]
}

// hurry gives the answers two seconds each.
func hurry(list []visiting.Entry) {
	n := 0
	for _, e := range list {
		if e.Answer != nil {
			e.Answer.At = list[0].Answer.At.Add(time.Duration(n) * 2 * time.Second)
			n++
		}
	}
}

// changedLate corrects a reading at the end, when all was said.
func changedLate(list []visiting.Entry, rng *rand.Rand) []visiting.Entry {
	a := one(list, rng, isReading)
	last := slices.IndexFunc(list, func(e visiting.Entry) bool { return e.Answer == nil })
	if a == nil || last < 0 {
		return list
	}
	x := *a.Number * 1.1
	changed := *a
	changed.Number, changed.Typed, changed.Repeats = &x, fmt.Sprintf("%.2f", x), false
	changed.At = list[last-1].Answer.At.Add(time.Hour)
	for _, e := range list[last:] {
		if e.End != nil {
			e.End.At = changed.At
		}
		if e.Conclusion != nil {
			e.Conclusion.At = changed.At
		}
	}
	return slices.Insert(list, last, visiting.Entry{Answer: &changed})
}
