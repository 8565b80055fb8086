package condition

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What is told and done at a closed kit never needs its inside, and is proved by what its
// plugs, sockets and hours show.
func TestKits(t *testing.T) {
	s := site.Demo()
	s.Kit = &site.Kit{USB: 2, Locks: true}
	keys := map[string]bool{}
	for id, k := range kits() {
		require.NotEmpty(t, Of(id).ID, "%s is no condition", id)
		c := OfSite(id, s)
		assert.Equal(t, Of(id).Title, c.Title)
		assertSentences(t, c.Meaning, 230)
		assertSentences(t, c.Separate, 230)
		require.NotEmpty(t, k.Actions, id)
		for _, a := range k.Actions {
			assert.False(t, keys[a.Key(id)], "%s stands twice", a.Key(id))
			keys[a.Key(id)] = true
			assertSentences(t, a.Do, 125)
			assert.Contains(t, []string{"", "any", "array"}, a.At, a.Do)
			assert.NotEqual(t, Licensed, a.Who, "a kit is sent to its maker")
			assert.True(t, reading.OfKit(a.Proof.Reading, s), "%s: %s is inside", a.Do, a.Proof.Reading)
			assertSentences(t, a.Proof.Shows, 110)
			if id != Sound {
				assert.Positive(t, a.Benefit(), a.Do)
			}
		}
	}
	// What lies inside and cannot be told from outside is not offered.
	for _, c := range Applicable(s) {
		assert.Contains(t, kits(), c.ID)
	}
	for _, id := range []ID{SetPointHigh, CellShort, BatteryJoint, StandbyDrain, LoadJoint, ArrayShort, CutOffFails} {
		assert.NotContains(t, kits(), id)
	}
	s.Kit = nil
	assert.Equal(t, Of(BatteryWorn), OfSite(BatteryWorn, s), "a plant of parts is as it was")
}
