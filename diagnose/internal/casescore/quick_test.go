package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// Figures by hand: of four cases one lies in weak light and one is wrong by all readings; of
// the other two a quick round keeps one.
func TestRoundTable(t *testing.T) {
	made := func(id string, light float64, full, right bool, needs ...string) round {
		r := round{all: reading.NewSet(), full: full, right: right, needs: needs, took: walked{minutes: 8, screens: 12}}
		r.id, r.truth.Conditions, r.truth.State.Daylight = id, []condition.ID{condition.LoadJoint}, true
		r.all.Numbers[reading.Irradiance] = light
		return r
	}
	text := roundTable([]round{
		made("001", 800, true, true), made("002", 800, true, false, "load_end_v (probe)"),
		made("003", 800, false, false), made("004", 399, true, false),
	})
	assert.Regexp(t, `measured, mean +8\.000`, text)
	assert.Regexp(t, `right by all readings +66\.7 %  \(2 of 3\)`, text)
	assert.Regexp(t, `by a quick round +50\.0 %  \(1 of 2\)`, text)
	assert.Regexp(t, `002 load-joint +needs load_end_v \(probe\)`, text)
	assert.NotContains(t, text, "004")
	assert.Contains(t, roundTable([]round{made("005", 800, true, false)}), "needs more than one reading")
}

// The round of a case takes nothing that needs something switched off, and no more than the
// case has.
func TestRoundOfACase(t *testing.T) {
	if testing.Short() {
		t.Skip("a round infers many times")
	}
	cases, err := load("../../../testdata/cases", "007")
	require.NoError(t, err)
	r := roundOf(cases[0])
	require.NoError(t, r.err)
	course := procedure.For(r.input.Site)
	taken := 0
	for k, x := range r.input.Readings.Numbers {
		s, ok := course.StepFor(k)
		require.True(t, ok, k)
		assert.LessOrEqual(t, s.Rung, procedure.Probe, k)
		assert.InDelta(t, r.all.Numbers[k], x, 0, k)
		taken++
	}
	assert.Positive(t, taken)
	assert.Less(t, taken, len(r.all.Numbers))
	assert.LessOrEqual(t, r.took.minutes, 12.)
}
