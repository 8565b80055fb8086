package visiting_test

import (
	"encoding/json"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

func conclusions(t *testing.T, m *memory) (list []visiting.Conclusion) {
	t.Helper()
	for _, e := range m.entries(t) {
		if e.Conclusion != nil {
			list = append(list, *e.Conclusion)
		}
	}
	return list
}

// A conclusion follows the answer that ends a visit, once; looking at the visit
// later adds nothing.
func TestConclusionAtTheEnd(t *testing.T) {
	r := &belief.Result{
		Conditions: []belief.Posterior{
			{ID: condition.BypassShort, P: 0.93751}, {ID: condition.LoadJoint, P: 0.7}, {ID: condition.Sound, P: 0.06}, {ID: condition.ArraySoiled, P: 0.01},
		},
		State:    belief.State{ChargeLevel: belief.Interval{Mean: 0.5, P05: 0.4, P95: 0.6}},
		Suspects: []belief.Suspect{{Reading: reading.LoadA, P: 0.7}, {Reading: reading.ArrayA, P: 0.2}},
	}
	v, m := newVisit(t)
	v.Learn(v.Seq(), r)
	require.NoError(t, v.Conclude())
	assert.Empty(t, conclusions(t, m), "the visit goes on")

	asked(t, v, r, "A. Mechanic, 2031-02-03", "")
	require.NoError(t, v.Conclude())
	require.NoError(t, v.Conclude(), "twice")
	all := conclusions(t, m)
	require.Len(t, all, 1)
	c := all[0]
	assert.Equal(t, condition.BypassShort, c.Leader().ID)
	assert.InDelta(t, 0.9375, float64(c.Leader().Probability), 1e-4)
	assert.Len(t, c.Conditions, 3)
	assert.Equal(t, []visiting.SuspectReading{{Reading: reading.LoadA, Probability: 0.7}}, c.Suspect)
	assert.Empty(t, c.Skipped, "all was confirmed, whether the good answer was yes or no")
	require.Len(t, c.Left, 2)
	assert.Equal(t, "2031-02-03", c.Left[0].Due)
	assert.Equal(t, "A. Mechanic", c.Left[0].Who)
	soon := c.At.AddDate(0, 0, 7).Format(time.DateOnly) // it leaves the loads without power
	assert.Equal(t, soon, c.Left[1].Due)

	text, err := json.Marshal(c)
	require.NoError(t, err)
	var back visiting.Conclusion
	require.NoError(t, json.Unmarshal(text, &back))
	again, err := json.Marshal(back)
	require.NoError(t, err)
	assert.JSONEq(t, string(text), string(again))

	seen, err := visiting.Resume(m.entries(t), m)
	require.NoError(t, err)
	seen.Learn(seen.Seq(), r)
	require.NoError(t, seen.Conclude())
	assert.Len(t, conclusions(t, m), 1)
}

// A danger sign, and a check that was not made, are precautions that were not confirmed.
func TestPrecautionsNotConfirmed(t *testing.T) {
	for id, typed := range map[string]string{"lightning": "a storm", "battery-look": "swollen", "permission": "no"} {
		v, m := newVisit(t)
		give(t, v, id, typed)
		asked(t, v, surely(condition.Sound, 0.9))
		require.NoError(t, v.Conclude())
		all := conclusions(t, m)
		require.Len(t, all, 1, id)
		assert.Equal(t, []string{id}, all[0].Skipped)
	}
}

// What only costs energy is due when the next visit is: a day follows from each
// answer to when that is, but from none.
func TestDueAtTheNextVisit(t *testing.T) {
	r := &belief.Result{Conditions: []belief.Posterior{{ID: condition.BypassShort, P: 0.9}}}
	days := map[string]int{"week": 7, "month": 30, "three-months": 91, "year": 365, "none": 0}
	v, _ := newVisit(t)
	step, ok := v.Procedure().Step("next-visit")
	require.True(t, ok)
	require.Len(t, step.Choices, len(days))
	for _, choice := range step.Choices.IDs() {
		t.Run(choice, func(t *testing.T) {
			v, m := newVisit(t)
			asked(t, v, r, "")
			p, ok := v.PromptFor(step.ID)
			require.True(t, ok)
			require.Equal(t, procedure.Act, p.Step.Kind)
			for i, c := range p.Step.Choices.IDs() {
				if c == choice {
					giveTo(t, v, p, string(rune('1'+i)))
				}
			}
			v.Learn(v.Seq(), r)
			require.NoError(t, v.Conclude())
			all := conclusions(t, m)
			require.Len(t, all, 1)
			want := ""
			if d := days[choice]; d > 0 {
				want = all[0].At.AddDate(0, 0, d).Format(time.DateOnly)
			}
			assert.Equal(t, want, all[0].Left[0].Due)
		})
	}
}
