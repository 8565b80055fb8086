package diagnose

import (
	"slices"

	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/reading"
)

// When a visit knows enough (choices of this project).
const (
	sureOfCondition = 0.95 // that a condition is there, or with 1 less it, that it is not
	sureOfState     = 0.90 // likewise of a question about the state
	chargeWithin    = 0.50 // width of the charge level from 5 % to 95 %
)

// enough reports whether what a visit must decide is decided: which conditions
// it is and is not, the questions about the state, and roughly the charge.
func enough(r *belief.Result) bool {
	sure := func(p, least float64) bool { return p >= least || p <= 1-least }
	st := r.State
	for _, p := range []float64{st.Daylight, st.Charging, st.Regulating, st.LoadsCut, st.AsDesigned} {
		if !sure(p, sureOfState) {
			return false
		}
	}
	undecided := func(c belief.Posterior) bool { return !sure(c.P, sureOfCondition) }
	return !slices.ContainsFunc(r.Conditions, undecided) && st.ChargeLevel.P95-st.ChargeLevel.P05 <= chargeWithin
}

// worthOf is what a reading would teach by the belief r [bits]. It is nothing
// where r knows enough, and nothing on the rungs where something is switched
// off or unplugged where the leading condition is very likely already. Without
// a belief every reading is as good as any, so that the visit goes on.
func worthOf(r *belief.Result, course *procedure.Procedure) procedure.Worth {
	switch {
	case r == nil:
		return func(reading.Key) float64 { return 1 }
	case enough(r):
		return func(reading.Key) float64 { return 0 }
	}
	return func(k reading.Key) float64 {
		if s, ok := course.StepFor(k); ok && s.Rung >= procedure.Isolate && r.Leader().P >= sureEnough {
			return 0
		}
		i := slices.IndexFunc(r.Gains, func(g belief.Gain) bool { return g.Reading == k })
		if i < 0 {
			return 0
		}
		return r.Gains[i].Bits
	}
}
