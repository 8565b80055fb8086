package belief

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// rangeOf is what k would show under the condition.
func rangeOf(t *testing.T, r *Result, k reading.Key, id condition.ID) Range {
	t.Helper()
	i := slices.IndexFunc(r.Shown[k], func(s Showing) bool { return s.ID == id })
	require.GreaterOrEqual(t, i, 0, "%s under %s: %v", k, id, r.Shown[k])
	return r.Shown[k][i].Range
}

// A clear noon and no current from the array: under an open circuit the current
// is nothing, in a sound system it would have been amperes (2 × 2.97 A are the
// nameplates' short-circuit current), and the voltage not yet taken tells them
// apart.
func TestRangesUnderEachCondition(t *testing.T) {
	readings := set(at(12), map[reading.Key]float64{
		reading.Irradiance: 850, reading.ArrayA: 0, reading.BatteryV: 12.3, reading.BatteryA: -0.7,
	})
	r, err := Infer(Input{Site: site.Demo(), Readings: readings})
	require.NoError(t, err)
	require.Equal(t, condition.ArrayOpen, r.Leader().ID)
	assert.Less(t, rangeOf(t, r, reading.ArrayA, condition.ArrayOpen).Hi, 0.2)
	for key, list := range r.Shown {
		for _, s := range list {
			assert.LessOrEqual(t, s.Range.Lo, s.Range.Hi, "%s under %s", key, s.ID)
			assert.GreaterOrEqual(t, r.Of(s.ID), showingFrom)
		}
		assert.LessOrEqual(t, len(list), maxShowings)
	}
	require.NotNil(t, r.Array)
	assert.Less(t, r.Array.AtA, 0.1, "no current flows")
	assert.InDelta(t, 2*2.97*0.85, r.Array.Amps[0], 0.6, "the curve is that of the array with nothing wrong")
}

// The curve falls, and in a sound system that charges freely the array works on
// it.
func TestCurveOfASoundArray(t *testing.T) {
	readings := set(at(12), map[reading.Key]float64{
		reading.Irradiance: 850, reading.ArrayA: 4.8, reading.ArrayV: 13.1, reading.BatteryV: 12.9, reading.PostV: 12.85, reading.BatteryA: 4.1,
	})
	r, err := Infer(Input{Site: site.Demo(), Readings: readings})
	require.NoError(t, err)
	require.Equal(t, condition.Sound, r.Leader().ID)
	c := r.Array
	require.NotNil(t, c)
	assert.True(t, slices.IsSortedFunc(c.Amps, func(a, b float64) int { return compare(b, a) }), "%v", c.Amps)
	assert.Zero(t, c.Amps[len(c.Amps)-1])
	k := slices.IndexFunc(c.Volts, func(v float64) bool { return v >= c.AtV })
	assert.InDelta(t, c.Amps[k], c.AtA, 0.1)
	assert.InDelta(t, 4.8, c.AtA, 0.2)
	assert.Greater(t, c.BestV, c.AtV, "a series controller holds the array below its best point")
}

func TestNoCurveInTheDark(t *testing.T) {
	r, err := Infer(Input{Site: site.Demo(), Readings: set(at(23), map[reading.Key]float64{reading.BatteryV: 12.4})})
	require.NoError(t, err)
	assert.Nil(t, r.Array)
}
