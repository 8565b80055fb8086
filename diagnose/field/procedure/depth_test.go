package procedure

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
)

// What tells of a danger, ends the measuring or lets go on is looked at anew at each visit.
// Only the labels, which no danger is read from, may be taken as they were.
func TestDangersAreLookedAtAnew(t *testing.T) {
	held := 0
	for _, d := range embedded().Steps {
		if d.Holds == HoldsNot {
			continue
		}
		held++
		assert.Contains(t, []Hold{HoldsDay, HoldsFile}, d.Holds, d.ID)
		assert.False(t, d.Stops || d.StopAbove > 0, d.ID)
		assert.LessOrEqual(t, d.Rung, Look, d.ID)
		assert.Empty(t, d.Sets, d.ID)
		assert.Empty(t, d.Words, d.ID)
		assert.True(t, d.Kind != Confirm || d.ID == "site", d.ID)
		for _, o := range d.Choices {
			assert.Empty(t, o.Danger, d.ID)
		}
		for _, danger := range embedded().Dangers {
			assert.NotContains(t, danger.Reading, d.Reading, d.ID)
		}
	}
	assert.Positive(t, held)
}

// A shorter visit has no step of its own, and leaves out none that another step needs, that
// looks for danger or that puts something back.
func TestDepthsLeaveNoCheckOut(t *testing.T) {
	for _, s := range allSites() {
		full := For(s)
		for _, depth := range []string{QuickRound, CallOut} {
			p := At(s, depth)
			assert.Less(t, len(p.Steps), len(full.Steps))
			for _, step := range full.Steps {
				short, ok := p.Step(step.ID)
				if ok {
					assert.Equal(t, step.Needs, short.Needs, "%s at %s", step.ID, depth)
					continue
				}
				assert.NotEqual(t, Confirm, step.Kind, "%s at %s", step.ID, depth)
				assert.NotEqual(t, Restore, step.Rung, "%s at %s", step.ID, depth)
				assert.Empty(t, step.Clears, "%s at %s", step.ID, depth)
				for _, o := range step.options {
					assert.Empty(t, o.Danger, "%s at %s", step.ID, depth)
				}
			}
		}
	}
}

// A call-out asks first what people complain of, and each complaint has readings that
// speak of it.
func TestCallOutBeginsWithTheComplaint(t *testing.T) {
	p := At(flooded12(), CallOut)
	first, _, ok := p.Next(State{}, nothing)
	require.True(t, ok)
	require.Equal(t, "complaint", first.ID)
	for _, id := range first.Choices.IDs() {
		keys := first.Concerned([]string{id})
		assert.True(t, slices.ContainsFunc(keys, func(k reading.Key) bool { _, ok := p.StepFor(k); return ok }), id)
		for _, k := range keys {
			_, known := reading.SpecOf(k)
			assert.True(t, known, "%s: %s", id, k)
		}
	}
	second, _, _ := For(flooded12()).Next(State{}, nothing)
	assert.Equal(t, "permission", second.ID)
}
