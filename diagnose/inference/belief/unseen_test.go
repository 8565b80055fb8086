package belief

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Behind an open array circuit nothing shows at which voltage the controller
// would hold back: that fault keeps what it had before any reading, as a second
// one. A battery off its wires would have shown.
func TestSecondFaultThatDoesNotShow(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.ArrayV: 0.02, reading.ArrayA: 0, reading.ModuleV: 20.2, reading.Irradiance: 800, reading.BatteryV: 12.4, reading.PostV: 12.4,
	})})
	ps, lnEvidence := m.cloud(m.modes())
	all := m.unseen(ps, lnEvidence)
	odds := func(id condition.ID) float64 { // of the pair with it against the open array alone
		alone := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return slices.Equal(h.ids, []condition.ID{condition.ArrayOpen}) })
		both := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return h.has(condition.ArrayOpen) && h.has(id) && len(h.ids) == 2 })
		require.GreaterOrEqual(t, both, 0)
		return math.Exp(all[both] - all[alone])
	}
	rate := func(id condition.ID) float64 {
		k := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return slices.Equal(h.ids, []condition.ID{id}) })
		return math.Exp(m.hyps[k].lnPrior + m.pairScale())
	}
	for _, id := range []condition.ID{condition.SetPointHigh, condition.SetPointLow} {
		assert.InEpsilon(t, rate(id), odds(id), 0.02, id)
	}
	assert.Less(t, odds(condition.BatteryOpen), 0.01*rate(condition.BatteryOpen))
}

// A choice that makes no difference at a mode is left open there: in the sun,
// with a battery far from any set-point, the controller's stage is such a one.
func TestChoicesThatMakeNoDifference(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.BatteryV: 12.8, reading.RestV: 12.3,
	})})
	found := m.search()
	require.NotEmpty(t, found[0])
	assert.Equal(t, whole, found[0][0].chosen[dStage-firstChoice])
	assert.Equal(t, whole, found[0][0].chosen[dLatch-firstChoice])
}
