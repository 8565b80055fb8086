package visiting

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// forgets is a journal that keeps nothing.
type forgets struct{}

func (forgets) Append(Entry) error { return nil }

// led is a visit at the demo site with a belief in which everything is worth measuring, and
// all that comes before the first reading answered as nobody would object to.
func led(t *testing.T, depth Depth) *Visit {
	t.Helper()
	v, err := New(Head{SiteTOML: string(site.DemoTOML()), StartedAt: time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC), Depth: depth}, forgets{})
	require.NoError(t, err)
	for range 40 {
		r := &belief.Result{Conditions: []belief.Posterior{{ID: condition.ArrayOpen, P: 0.5}, {ID: condition.Sound, P: 0.5}}}
		for _, s := range reading.Specs {
			r.Gains = append(r.Gains, belief.Gain{Reading: s.Key, Bits: 0.5})
		}
		v.Learn(v.Seq(), r)
		p := v.Prompt()
		if p.Done || p.Step.Kind == procedure.Take && p.Spec.Form != reading.Word {
			return v
		}
		a := Answer{Step: p.Step.ID, Kind: Did, At: v.head.StartedAt}
		switch {
		case len(p.Step.Checks) > 0:
			a.Choose(p.Step.Checks)
			a.Word = p.Step.Word(a.Chosen)
		case p.Step.Kind == procedure.Choose:
			a.Kind, a.Chosen = Took, []string{}
		case p.Step.Kind == procedure.Take && p.Step.Reading == reading.Sky:
			a.Kind, a.Reading, a.Word = Took, p.Step.Reading, "clear"
		case p.Step.Kind == procedure.Take && len(p.Step.Choices) > 0: // a look of an indicator
			a.Kind, a.Reading, a.Word = Took, p.Step.Reading, p.Step.Choices[0].ID
		case p.Step.Kind == procedure.Take:
			a.Kind, a.Reading, a.Word = Took, p.Step.Reading, p.Spec.Choices[0]
		case len(p.Step.Choices) > 0:
			a.Choose(p.Step.Choices[:1])
			a.Word = p.Step.Word(a.Chosen)
		default:
			a.Word = procedure.ActDone
		}
		require.NoError(t, v.Give(a), p.Step.ID)
	}
	t.Fatal("no reading was asked for")
	return nil
}

// A quick round isolates nothing, has less ahead than a full visit, and says what that
// would still take.
func TestQuickRound(t *testing.T) {
	full, quick := led(t, Full), led(t, Quick)
	assert.Less(t, quick.Minutes(), full.Minutes())
	assert.Empty(t, full.Fuller())
	assert.Contains(t, quick.Fuller(), "A full visit would still take: ")

	f, known := full.Ahead()
	require.True(t, known)
	q, _ := quick.Ahead()
	assert.Less(t, q.Readings, f.Readings)
	assert.Less(t, q.MaxMinutes, f.MaxMinutes/2)
	assert.LessOrEqual(t, q.MaxMinutes+quick.Minutes(), 15.)
	assert.Less(t, f.MinMinutes, f.MaxMinutes)
	by := quick.search()
	for _, s := range quick.Procedure().Steps {
		if s.Rung >= procedure.Isolate && s.Kind == procedure.Take {
			assert.Zero(t, by.Worth(s.Reading), s.ID)
		}
	}
	_, ok := quick.Procedure().Step("caretaker")
	assert.False(t, ok, "who has little time teaches nobody")
}
