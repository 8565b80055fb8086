package main

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios"
)

// A call-out to a site with a complaint finds what a full visit finds, in less time, and
// asks for the complaint before anything else.
func TestCallOutGoesStraightToTheComplaint(t *testing.T) {
	if testing.Short() {
		t.Skip("whole visits take a while")
	}
	tried := 0
	for _, s := range scenarios.Embedded() {
		if s.Site.Name != "Lantern Hill clinic" || s.Truth()[0] == "sound" || tried == 3 {
			continue
		}
		walk := func(depth visiting.Depth) *visiting.Visit {
			v, err := scenarios.Walk(s, visiting.Head{ID: s.ID, StartedAt: s.At, Depth: depth}, belief.Infer, forgets{})
			require.NoError(t, err, s.ID)
			return v
		}
		v := walk(visiting.CallOut)
		if len(v.Input().Readings.Several[reading.Complaint]) == 0 {
			continue // nobody complains
		}
		tried++
		full := walk(visiting.Full)
		assert.Equal(t, "complaint", v.Answers()[0].Step, s.ID)
		assert.Equal(t, "call-out", v.Input().Readings.Words[reading.Visit], s.ID)
		short, long := measure(v), measure(full)
		t.Logf("%s: %v call-out %+v, full %+v, repairs %d %d", s.ID, v.Input().Readings.Several[reading.Complaint], short, long, len(v.Repairs()), len(full.Repairs()))
		assert.Less(t, short.minutes, long.minutes, s.ID)
		right := func(v *visiting.Visit) bool { return slices.Contains(s.Truth(), v.Found().Leader().ID) }
		assert.Equal(t, right(full), right(v), s.ID)
		assert.Equal(t, len(full.Repairs()), len(v.Repairs()), s.ID)
	}
	assert.Positive(t, tried)
}
