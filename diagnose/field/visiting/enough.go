package visiting

import (
	"slices"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
)

// When a visit knows enough (choices of this project).
const (
	sureOfCondition = 0.95 // that a condition is there, or with 1 less it, that it is not
	sureOfState     = 0.90 // likewise of a question about the state
	chargeWithin    = 0.30 // width of the charge level from 5 % to 95 %
)

// decided reports whether it is clear which conditions it is and is not, and
// what the answers to the questions about the state are.
func decided(r *belief.Result) bool {
	sure := func(p, least float64) bool { return p >= least || p <= 1-least }
	st := r.State
	for _, p := range []float64{st.Daylight, st.Charging, st.Regulating, st.LoadsCut, st.AsDesigned} {
		if !sure(p, sureOfState) {
			return false
		}
	}
	return !slices.ContainsFunc(r.Conditions, func(c belief.Posterior) bool { return !sure(c.P, sureOfCondition) })
}

// Found reports whether it is as good as sure which condition it is.
func Found(r *belief.Result) bool { return r.Leader().P >= sureOfCondition }

// tellCharge are the readings that show how full the battery is.
var tellCharge = []reading.Key{reading.BatteryV, reading.PostV, reading.RestV, reading.BlockV, reading.Gravity}

// worthOf is what a reading would teach by the belief r [bits]. It is nothing
//   - on the rungs where something is switched off or unplugged, where the
//     leading condition is sure already;
//   - where all is decided but the charge, for readings that do not show it;
//   - where the charge is known well enough, too.
//
// Without a belief every reading is as good as any, so that the visit goes on.
func worthOf(r *belief.Result, course *procedure.Procedure) procedure.Worth {
	if r == nil {
		return func(reading.Key) float64 { return 1 }
	}
	all, charge := decided(r), r.State.ChargeLevel
	if all && charge.P95-charge.P05 <= chargeWithin {
		return func(reading.Key) float64 { return 0 }
	}
	return func(k reading.Key) float64 {
		s, ok := course.StepFor(k)
		switch {
		case ok && s.Rung >= procedure.Isolate && Found(r):
			return 0
		case all && !slices.Contains(tellCharge, k):
			return 0
		}
		i := slices.IndexFunc(r.Gains, func(g belief.Gain) bool { return g.Reading == k })
		if i < 0 {
			return 0
		}
		return r.Gains[i].Bits
	}
}

// voltageWorth is what the voltages of battery and array are worth while nobody has read them
// [bits]. A visit that ends without them cannot say that the battery is neither empty nor
// overcharged, nor that the array is there and the right way round, however likely all is well
// (common practice: they are the first things that a technician measures). In the dark the
// array's shows that nothing feeds back into it.
const voltageWorth = 0.3

// withVoltage is worth with that of the two voltages.
func (v *Visit) withVoltage(worth procedure.Worth) procedure.Worth {
	if v.course.Leaving(v.state) {
		return worth
	}
	tried := func(keys ...reading.Key) bool {
		return slices.ContainsFunc(keys, func(k reading.Key) bool {
			return v.readings.Has(k) || slices.Contains(v.readings.NotTaken, k)
		})
	}
	return func(k reading.Key) float64 {
		if k == reading.BatteryV && !tried(k, reading.PostV) || k == reading.ArrayV && !tried(k) {
			return max(worth(k), voltageWorth)
		}
		return worth(k)
	}
}
