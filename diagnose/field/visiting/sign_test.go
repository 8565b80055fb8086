package visiting_test

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
)

// One clamp, one wire, one arrow: what empties the battery is a minus at each
// reading of its current. The readings file counts two of them out of it.
func TestOneSignAtTheBattery(t *testing.T) {
	stored := map[reading.Key]float64{reading.BatteryA: -0.25, reading.StandbyA: 0.25, reading.StepA: 0.25}
	for k, want := range stored {
		v, _ := newVisit(t)
		a := give(t, v, string(k), "-0.25")
		require.NotNil(t, a.Number)
		assert.InDelta(t, want, *a.Number, 0, k)
		assert.InDelta(t, want, v.Input().Readings.Numbers[k], 0, k)
		assert.Equal(t, "-0.25 A", a.Text(), k)
		assert.Equal(t, "-0.25 A", visiting.ValueText(v.Input().Readings, k), k)
		assert.Equal(t, "-0.25 A", visiting.TakesText(v.Takes(string(k))), k)
	}
}

// What is expected, what is normal and what is out of bounds have the clamp's
// sign too.
func TestTurnedReadingIsAskedWithItsSign(t *testing.T) {
	spec, ok := reading.SpecOf(reading.StandbyA)
	require.True(t, ok)
	assert.Equal(t, "-0.10 to -0.01 A", visiting.FormatRange(belief.Range{Lo: 0.01, Hi: 0.1}, spec))
	v, _ := newVisit(t)
	r := gains(nil)
	r.Normal = map[reading.Key]belief.Range{reading.StandbyA: {Lo: 0.01, Hi: 0.1}}
	require.True(t, v.Learn(v.Seq(), r))
	give(t, v, "standby_a", "-0.02")
	p, ok := v.PromptFor("standby_a")
	require.True(t, ok)
	assert.Contains(t, p.Normal, "-0.10 to -0.01 A")
	assert.Contains(t, p.Step.Probes, "minus means it empties")
	assert.Contains(t, p.Hint, "-2.4")

	_, err := v.Read(p, "-8")
	doubt := (*visiting.Doubt)(nil)
	require.ErrorAs(t, err, &doubt)
	assert.Regexp(t, `^-8 A is outside .* -\d.* to 0\.5 A$`, doubt.Reason)
	_, err = v.Read(p, "-1000000")
	assert.ErrorContains(t, err, "-1000000 A cannot be shown")
	a, err := v.Read(p, "0")
	require.NoError(t, err)
	assert.Equal(t, "0.00 A", a.Text())
	text, err := json.Marshal(a.Number)
	require.NoError(t, err)
	assert.Equal(t, "0", string(text), "no zero with a sign")
}

// A figure of an earlier journal, typed by the arrow away from the battery, means
// what it meant.
func TestOldTurnedNumberKeepsItsMeaning(t *testing.T) {
	v, m := newVisit(t)
	x := 0.02
	require.NoError(t, v.Give(visiting.Answer{Step: "standby_a", Kind: visiting.Took, Reading: reading.StandbyA, Typed: "0.02", Number: &x, At: start}))
	old, err := visiting.Resume(m.entries(t), nil)
	require.NoError(t, err)
	assert.InDelta(t, 0.02, old.Input().Readings.Numbers[reading.StandbyA], 0)
	assert.Equal(t, "-0.02 A", old.Takes("standby_a")[0].Text())
}
