package belief

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Two faults that both act are both believed, each with the other as companion.
func TestTwoConditionsAtOnce(t *testing.T) {
	s := site.Demo()
	blank := reading.NewSet()
	blank.TakenAt = at(11)
	for _, l := range s.Loads {
		blank.LoadsOn = append(blank.LoadsOn, l.Label)
	}
	m := newModel(Input{Site: s, Readings: blank})
	ids := []condition.ID{condition.StringOpen, condition.LoadJoint}
	u := plant.Typical()
	u.LoadW = s.AllListedW()
	u.AirC, u.CellC, u.CellCIsolated = 28, 53, 53
	for _, id := range ids {
		condition.Disturb(id, s, &u, 0.5, 0.5, 0)
	}
	var out plant.Out
	m.plant.Solve(&u, &out)
	taken := blank.Clone()
	for _, spec := range reading.Specs {
		if i, ok := plant.IndexOf(spec.Key); ok && spec.Key != reading.StepA && spec.Key != reading.StepPostV {
			taken.Numbers[spec.Key] = out.Value[i]
		}
	}
	r, err := Infer(Input{Site: s, Readings: taken})
	require.NoError(t, err)
	assert.Greater(t, r.Of(condition.LoadJoint), 0.9)
	array := []condition.ID{condition.StringOpen, condition.ArrayShaded} // half the current: a string open or in shadow
	assert.Greater(t, r.Of(array[0])+r.Of(array[1]), 0.9)
	for _, p := range r.Conditions[:2] {
		assert.NotEmpty(t, p.With, p.ID)
	}
	assert.Less(t, r.Of(condition.Sound), 0.02)
}

// One fault alone is not dressed up as two.
func TestOneConditionStaysOne(t *testing.T) {
	numbers := map[reading.Key]float64{
		reading.ArrayV: 0.02, reading.ArrayA: 0, reading.ModuleV: 20.2, reading.Irradiance: 800, reading.BatteryV: 12.4, reading.PostV: 12.4,
	}
	r, err := Infer(Input{Site: site.Demo(), Readings: set(at(11), numbers)})
	require.NoError(t, err)
	require.Equal(t, condition.ArrayOpen, r.Conditions[0].ID)
	assert.Empty(t, r.Conditions[0].With)
	sum := 0.0
	for _, p := range r.Conditions {
		sum += p.P
	}
	assert.Less(t, sum, 1.2) // a second fault that would not show keeps its part
	assert.True(t, slices.IsSortedFunc(r.Conditions, func(a, b Posterior) int { return -compare(a.P, b.P) }))
}
