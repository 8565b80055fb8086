// Package triage is what an office keeps of a visit to find it, to say what
// needs attention first, and to compare it with others of its site.
//
// Start with [Of], [Digest] and [Flag]. It infers nothing: what was believed
// stands in the visit's own conclusion. Quantities are in the unit that the name
// or the comment gives.
package triage

import (
	"cmp"
	"slices"
	"time"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
)

// A Digest is the short of one visit.
type Digest struct {
	ID, Site, Staff string
	StartedAt       time.Time
	LastAt          time.Time // of the last answer
	Finished        bool
	Conclusion      *visiting.Conclusion // nil where the visit kept none
	Flags           []Flag               // why it needs attention, the most urgent first
	Measures        []Measure
}

// Of is the digest of a visit's entries as an office has them at a moment; the zero
// digest where they have no head.
func Of(entries []visiting.Entry, now time.Time) Digest {
	if len(entries) == 0 || entries[0].Head == nil {
		return Digest{}
	}
	h := entries[0].Head
	d := Digest{ID: h.ID, Site: h.SiteName, Staff: h.Who, StartedAt: h.StartedAt, LastAt: h.StartedAt}
	for _, e := range entries[1:] {
		switch {
		case e.Answer != nil:
			d.LastAt = e.Answer.At
			d.Finished = d.Finished && e.Answer.Kind == visiting.Note
			if !d.Finished {
				d.Conclusion = nil
			}
		case e.End != nil:
			d.LastAt, d.Finished = e.End.At, true
		case e.Conclusion != nil:
			d.Conclusion = e.Conclusion
		}
	}
	d.Flags = flags(entries, &d, now)
	d.Measures = measures(entries, d.Conclusion)
	return d
}

// Condition is the one held most likely, with its probability; "" where none was
// concluded.
func (d *Digest) Condition() (condition.ID, float64) {
	if d.Conclusion == nil {
		return "", 0
	}
	l := d.Conclusion.Leader()
	return l.ID, float64(l.Probability)
}

// Level is how urgent the visit is: that of its most urgent flag, 0 for none.
func (d *Digest) Level() int {
	if len(d.Flags) == 0 {
		return 0
	}
	return d.Flags[0].Level()
}

// Due is the first day by which work that stays open is to be done; zero for none.
func (d *Digest) Due() time.Time {
	if d.Conclusion == nil {
		return time.Time{}
	}
	var days []time.Time
	for _, l := range d.Conclusion.Left {
		if day, err := time.Parse(time.DateOnly, l.Due); err == nil {
			days = append(days, day)
		}
	}
	if len(days) == 0 {
		return time.Time{}
	}
	return slices.MinFunc(days, time.Time.Compare)
}

// Sorted puts flags in their order, the most urgent first.
func Sorted(list []Flag) []Flag {
	slices.SortStableFunc(list, func(a, b Flag) int { return -cmp.Compare(a.Level(), b.Level()) })
	return list
}
