package summary

import (
	"time"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/reading"
)

// Beside is what a summary tells beyond the visit itself; any of it may be left out.
type Beside struct {
	Steps       []Believed // the belief after each reading, see [Recount]
	Earlier     []Earlier  // other visits to the site, the oldest first
	Fingerprint string     // of the visit's journal

	Outlook *outlook.Outlook // by the visit's latest belief
}

// Believed is what was believed after one reading of a visit.
type Believed struct {
	Step       string // title
	Conditions []belief.Posterior
}

// of is the probability of the condition of p then.
func (b Believed) of(p belief.Posterior) float64 {
	r := belief.Result{Conditions: b.Conditions}
	return r.Of(p.ID)
}

// Earlier is what an earlier visit to the site ended with.
type Earlier struct {
	At       time.Time
	Leader   belief.Posterior
	Charge   belief.Interval
	BatteryV *float64 // at the controller as found; nil: not measured
}

// EarlierOf is a visit as those after it see it, by its belief r.
func EarlierOf(v *visiting.Visit, r *belief.Result) Earlier {
	in := v.Input()
	e := Earlier{At: in.Readings.TakenAt, Leader: r.Leader(), Charge: r.State.ChargeLevel}
	if x, ok := in.Readings.Numbers[reading.BatteryV]; ok {
		e.BatteryV = &x
	}
	return e
}

// informs reports whether the inference learns from an answer.
func informs(a visiting.Answer) bool {
	return a.Kind == visiting.Took && (a.Reading != "" || a.Step == "loads-on")
}

// Recount infers again what was believed after each reading of the visit, as it
// was given: an inference a reading. After the last one it is the visit's own
// belief, where it has one.
func Recount(v *visiting.Visit, infer visiting.Inferrer) ([]Believed, error) {
	head, history := v.Head(), v.History()
	last := -1
	for i, a := range history {
		if informs(a) {
			last = i
		}
	}
	entries := []visiting.Entry{{Head: &head}}
	var list []Believed
	for i, a := range history {
		entries = append(entries, visiting.Entry{Answer: &a})
		if !informs(a) {
			continue
		}
		r := v.Belief()
		if i < last || r == nil {
			then, err := visiting.Resume(entries, nil)
			if err != nil {
				return nil, err
			}
			if r, err = infer(then.Input()); err != nil {
				return nil, err
			}
		}
		b := Believed{Step: a.Step, Conditions: r.Conditions}
		if s, ok := v.Procedure().Step(a.Step); ok {
			b.Step = s.Title
		}
		list = append(list, b)
	}
	return list, nil
}
