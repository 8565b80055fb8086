package visiting

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A Depth is how much a visit sets out to do. The safe order and the belief are the same.
type Depth string

// The depths.
const (
	Full    Depth = ""                   // whatever is worth its minutes
	Quick   Depth = procedure.QuickRound // about ten minutes of readings; nothing is isolated
	CallOut Depth = procedure.CallOut    // for a complaint: until its cause is found and mended
)

func (d Depth) procedure(s *site.Site) *procedure.Procedure { return procedure.At(s, string(d)) }

// quickMinutes is how long a quick round goes on to measure, by the steps' own minutes. With
// what comes after it, putting back and handing over, it takes about twelve.
const quickMinutes = 9.4

// search is what the procedure looks for at this depth: a quick round has no reading on the
// rungs where something is isolated or waited for, and none that its time is too short for.
func (v *Visit) search() procedure.Search {
	worth := v.worth()
	by := procedure.Search{Worth: worth, After: v.lastStep()}
	switch v.head.Depth {
	case Quick:
	case CallOut:
		if first := v.concerned(by); v.course.Measures(v.state, first) {
			return first
		}
		return by
	default:
		return by
	}
	by.Hurried, by.Minutes = true, quickMinutes-v.Minutes()
	by.Worth = func(k reading.Key) float64 {
		if s, ok := v.course.StepFor(k); !ok || s.Rung > procedure.Probe {
			return 0
		}
		return worth(k)
	}
	return by
}

// complaintStep asks what people complain of.
const complaintStep = "complaint"

// concerned is the search for what the complaint concerns, and for nothing else.
func (v *Visit) concerned(by procedure.Search) procedure.Search {
	s, ok := v.course.Step(complaintStep)
	first := s.Concerned(v.readings.Several[reading.Complaint])
	worth := by.Worth
	by.Worth = func(k reading.Key) float64 {
		if !ok || !slices.Contains(first, k) {
			return 0
		}
		return worth(k)
	}
	return by
}

// A Rest is what a visit still asks, as things stand: readings at most, and minutes of all
// that is left, from where nothing more has to be measured to where everything does.
type Rest struct {
	Readings   int
	MinMinutes float64
	MaxMinutes float64
}

// Ahead is what is still asked. Without a belief it is not known.
func (v *Visit) Ahead() (rest Rest, known bool) {
	if v.latest == nil {
		return rest, false
	}
	by := v.search()
	rest.Readings, rest.MaxMinutes = v.course.Ahead(v.state, by)
	by.Worth = func(reading.Key) float64 { return 0 }
	_, rest.MinMinutes = v.course.Ahead(v.state, by)
	return rest, true
}

// Minutes is how long the answers so far took, by the steps' own minutes.
func (v *Visit) Minutes() float64 {
	var sum float64
	for _, a := range v.history {
		if s, ok := v.course.Step(a.Step); ok && a.Kind != Note && a.Kind != Stop && !a.Held {
			sum += s.Minutes
		}
	}
	return sum
}

// mostFuller is how many readings of a fuller visit are named.
const mostFuller = 3

// Fuller says which readings a full visit would still take after a shorter one, those that
// teach most first; "" where the visit is full, or where they would teach too little.
func (v *Visit) Fuller() string {
	if v.head.Depth == Full || v.latest == nil {
		return ""
	}
	worth := worthOf(v.latest, v.course)
	left := slices.DeleteFunc(slices.Clone(v.latest.Gains), func(g belief.Gain) bool {
		return !(worth(g.Reading) >= procedure.MinBits)
	})
	if len(left) == 0 {
		return words().QuickDone
	}
	slices.SortStableFunc(left, func(a, b belief.Gain) int { return cmp.Compare(b.Bits, a.Bits) })
	var titles []string
	for _, g := range left[:min(mostFuller, len(left))] {
		titles = append(titles, Title(v.course, g.Reading))
	}
	return fmt.Sprintf(words().QuickLeft, strings.Join(titles, ", "))
}
