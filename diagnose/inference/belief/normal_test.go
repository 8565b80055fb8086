package belief

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What is normal does not follow the faults that are believed: with the array's
// circuit open in full sun, a sound array would still give current. 2 strings of
// 2.97 A give at most some 6 A at 1000 W/m2, a quarter more at a cloud's edge.
func TestNormalIsOfASoundPlant(t *testing.T) {
	set := reading.NewSet()
	set.Words[reading.Sky] = "clear"
	set.Numbers[reading.Irradiance] = 900
	set.Numbers[reading.ArrayV] = 0.02
	set.Numbers[reading.BatteryV] = 12.3
	r, err := Infer(Input{Site: site.Demo(), Readings: set})
	require.NoError(t, err)
	require.Greater(t, r.State.Daylight, 0.9)
	assert.Less(t, r.Expect[reading.ArrayA].Hi, 1.0, "by the belief there is no current")
	normal := r.Normal[reading.ArrayA]
	assert.Greater(t, normal.Lo, -0.5)
	assert.InDelta(t, 5.0, normal.Hi, 2.5)
	assert.Greater(t, r.Normal[reading.ArrayV].Lo, 10.0)
	for _, spec := range reading.Specs {
		switch spec.Key {
		case reading.Minutes, reading.StepA, reading.BlockV:
			continue
		}
		if (spec.Form == reading.Number || spec.Form == reading.List) && reading.Offered(spec.Key, site.Demo()) {
			n, ok := r.Normal[spec.Key]
			require.True(t, ok, spec.Key)
			assert.Less(t, n.Lo, n.Hi, spec.Key)
		}
	}
	gravity := r.Normal[reading.Gravity]
	assert.True(t, gravity.Lo > 1.05 && gravity.Hi < 1.35, "the acid of lead batteries: 1.12 to 1.28 (trade tables), %v", gravity)
}
