package scenarios

import (
	"hash/fnv"
	"math"
	"math/rand/v2"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// chance is a source of its own for each purpose.
func chance(what string, seed uint64) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(what)) // a hash takes everything
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// tolerances draws the parts of an ordinary plant without fault: its nameplate
// is met within usual tolerances, its parts have aged a little. The spreads are
// judgement, those of the diagnosis' own prior or a little narrower.
func tolerances(r *rand.Rand, s *site.Site) plant.Unknowns {
	bell := func(mean, spread float64) float64 { return mean + spread*min(max(r.NormFloat64(), -2), 2) }
	factor := func(median, spread float64) float64 { return median * math.Exp(bell(0, spread)) }
	within := func(lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }
	u := plant.Typical()
	u.Soiling = within(0, 0.05)
	u.Current, u.Voltage = bell(0.985, 0.015), bell(1, 0.006)
	u.Shunt = within(0.2, 1)
	u.ArrayJoint, u.BatteryJoint, u.LoadJoint = within(0, 0.02), within(0, 0.015), within(0, 0.02)
	u.Cable = factor(1, 0.05)
	u.DropV, u.DropOhm = within(0.03, 0.35), 0.01
	u.Efficiency = within(0.93, 0.98)
	u.SetPoint = bell(0, 0.05)
	u.OwnUse = factor(1, 0.2)
	u.LoadShape = within(0.1, 0.9)
	u.RestMix = within(0.2, 0.8)
	u.RestShift = bell(0, 0.004)
	if !s.Battery.Chemistry.LeadAcid() {
		u.RestShift = bell(0, 0.008)
	}
	u.Gravity = bell(0, 0.005)
	u.Ohm, u.Charge, u.Discharge = factor(1.1, 0.15), factor(0.75, 0.25), factor(0.35, 0.35)
	if !s.Battery.Chemistry.LeadAcid() {
		u.Discharge = 2 * u.Discharge
	}
	u.Gas = factor(1, 0.5)
	u.Capacity = within(0.84, 1)
	u.OneMinute, u.Surface, u.Decay = within(0.3, 0.6), factor(0.4, 0.3), 45
	u.RunsAlone, u.Blocking = r.IntN(2) == 0, r.IntN(2) == 0
	partTolerances(r, s, &u)
	return u
}
