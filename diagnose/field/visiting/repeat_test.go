package visiting_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// A reading that is repeated keeps both values; one that is corrected keeps the
// new one only. The belief goes by the last.
func TestTakes(t *testing.T) {
	v, err := visiting.New(visiting.Head{SiteTOML: string(site.DemoTOML()), StartedAt: start}, &memory{})
	require.NoError(t, err)
	give := func(volts float64, repeats bool) {
		require.NoError(t, v.Give(visiting.Answer{Step: "battery_v", Kind: visiting.Took, Reading: "battery_v", Number: &volts, Repeats: repeats, At: start}))
	}
	text := func() string { return visiting.TakesText(v.Takes("battery_v")) }
	assert.Empty(t, v.Takes("battery_v"))
	give(12.2, false)
	assert.Equal(t, "12.20 V", text())
	give(12.4, true)
	assert.Equal(t, "12.20 V, then 12.40 V", text())
	assert.InDelta(t, 12.4, v.Input().Readings.Numbers["battery_v"], 1e-12)
	require.NoError(t, v.Give(visiting.Answer{Step: "battery_v", Kind: visiting.Note, Reason: "the lamp flickers", At: start}))
	give(12.5, true)
	assert.Equal(t, "12.20 V, then 12.40 V, then 12.50 V", text())
	give(13.1, false)
	assert.Equal(t, "13.10 V", text())
	assert.Len(t, v.Answers(), 1)
}
