package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/scenarios"
)

// How long a visit may be where nothing is wrong (choices of this project): people who
// have to visit many sites leave out what takes longer.
func TestEconomyOfAVisit(t *testing.T) {
	if testing.Short() {
		t.Skip("whole visits take a while")
	}
	s, ok := scenarios.ByID("morning-round") // a healthy plant at the demo site
	require.True(t, ok)
	for _, tt := range []struct {
		depth                    visiting.Depth
		before, screens, answers int
		minutes                  float64
	}{
		{visiting.Full, 10, 32, 60, 60},
		{visiting.Quick, 10, 14, 40, 12},
	} {
		v, err := scenarios.Walk(s, visiting.Head{ID: s.ID, StartedAt: s.At, Depth: tt.depth}, belief.Infer, forgets{})
		require.NoError(t, err)
		w := measure(v)
		for _, a := range v.History() {
			step, _ := v.Procedure().Step(a.Step)
			t.Logf("%-10s %-28s %4.1f %s", step.Sheet.ID, a.Step, step.Minutes, a.Text())
		}
		t.Logf("%q: %+v", tt.depth, w)
		assert.LessOrEqual(t, w.before, tt.before, "screens before the first instrument")
		assert.LessOrEqual(t, w.screens, tt.screens, "screens")
		assert.LessOrEqual(t, w.minutes, tt.minutes, "minutes")
	}
}
