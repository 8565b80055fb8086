package plain_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/plain"
)

// Who leaves while something is open is told so, and the decision is kept; who
// comes back is told again.
func TestLeaveWithSomethingOpen(t *testing.T) {
	now := time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC)
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: now}, &journal{})
	require.NoError(t, err)
	require.NoError(t, v.Give(visiting.Answer{Step: "array-isolate", Kind: visiting.Did, Word: "done", At: now}))
	talk := func(lines string) string {
		var out strings.Builder
		_, err := plain.Run(plain.Options{
			Visit: v, Infer: infer, Now: func() time.Time { return now },
			Summary: func() string { return "" }, In: strings.NewReader(lines), Out: &out,
		})
		require.NoError(t, err)
		return strings.Join(strings.Fields(out.String()), " ")
	}
	assert.Contains(t, talk("leave\n"), "Not put back yet: the array is isolated. Continue, to put it back.")
	undecided := "left with: the array is isolated. Nobody decided that it may stay so"
	require.Len(t, v.Notes(), 1, "the answers ended")
	assert.Equal(t, undecided, v.Notes()[0].Reason)
	assert.Contains(t, talk("leave the owner, it is labelled\n1\n"), "Not put back yet: the array is isolated.", "who comes back is told")
	require.Len(t, v.Notes(), 2)
	assert.Equal(t, "left with: the array is isolated. Decision: the owner, it is labelled", v.Notes()[1].Reason)
	assert.Equal(t, visiting.Did, v.Answers()[0].Kind)
	assert.Len(t, v.Answers(), 1, "nothing is read after leave")
}
