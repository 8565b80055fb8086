package visiting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
)

func TestLeftByAVisit(t *testing.T) {
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: time.Unix(0, 0)}, nowhere{})
	require.NoError(t, err)
	assert.Equal(t, visiting.Left{}, visiting.LeftBy(v), "nothing known, nothing open")

	believe := func(list ...belief.Posterior) visiting.Left {
		require.True(t, v.Learn(v.Seq(), &belief.Result{Conditions: list}))
		return visiting.LeftBy(v)
	}
	left := believe(belief.Posterior{ID: condition.Sound, P: 0.9}, belief.Posterior{ID: condition.ArrayOpen, P: 0.1})
	assert.Contains(t, left.Found, "Everything works as designed")
	assert.Empty(t, left.Actions, "the log and a clean glass are no repair")

	left = believe(belief.Posterior{ID: condition.ArrayOpen, P: 0.6}, belief.Posterior{ID: condition.Sound, P: 0.3}, belief.Posterior{ID: condition.BatteryWorn, P: 0.1})
	open := len(condition.Of(condition.ArrayOpen).Actions)
	assert.Len(t, left.Actions, open)
	assert.Contains(t, left.Actions[0], "(field staff)")

	left = believe(belief.Posterior{ID: condition.ArrayOpen, P: 0.6}, belief.Posterior{ID: condition.BatteryWorn, P: 0.35})
	assert.Greater(t, len(left.Actions), open)
	believe(belief.Posterior{ID: condition.ArrayOpen, P: 0.9}, belief.Posterior{ID: condition.Sound, P: 0.1})

	repaired := visiting.Answer{Step: "mended", Kind: visiting.Did, Word: procedure.ActDone, Chosen: []string{"array-open/close"}, Labels: []string{"what was open is closed"}, At: time.Unix(1, 0)}
	require.NoError(t, v.Give(repaired))
	assert.Empty(t, visiting.LeftBy(v).Found, "what was believed is of the plant before")
	left = believe(belief.Posterior{ID: condition.ArrayOpen, P: 0.9}, belief.Posterior{ID: condition.Sound, P: 0.1})
	assert.Len(t, left.Actions, open-1, "one of them is done")
	assert.Contains(t, left.Mended, "what was open is closed")

	require.NoError(t, v.Give(visiting.Answer{Step: "array-isolate", Kind: visiting.Did, Word: "done", At: time.Unix(1, 0)}))
	assert.Len(t, visiting.LeftBy(v).NotBack, 1, "what is switched off is open")
	back := v.Procedure().Restore(v.State())
	require.NotEmpty(t, back)
	require.NoError(t, v.Give(visiting.Answer{Step: back[len(back)-1].ID, Kind: visiting.Cannot, Reason: "the plug is broken", At: time.Unix(2, 0)}))
	require.Len(t, visiting.LeftBy(v).NotBack, 1)
	assert.Contains(t, visiting.LeftBy(v).NotBack[0], "the plug is broken")
}

type nowhere struct{}

func (nowhere) Append(visiting.Entry) error { return nil }
