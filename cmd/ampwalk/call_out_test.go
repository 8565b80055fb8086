package main

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
)

// measuredSince are the readings answered after the step was last answered, in their order.
func (p played) measuredSince(step string) []string {
	var list []string
	for _, a := range p.History() {
		s, _ := p.Procedure().Step(a.Step)
		switch {
		case a.Step == step:
			list = nil
		case s.Kind == procedure.Take:
			list = append(list, a.Step)
		}
	}
	return list
}

// repairedBy is the step at which the last repair was done.
func (p played) repairedBy(t *testing.T) string {
	t.Helper()
	for i := len(p.asked) - 1; i >= 0; i-- {
		if slices.Contains(mending, p.asked[i]) {
			return p.asked[i]
		}
	}
	require.Fail(t, "nothing was mended")
	return ""
}

// A call-out ends once its cause is found, mended and proven. It begins with what people
// complain of; the reading that shows the fault is taken once more after the repair (functional
// test after work: IEC 62446-1, from memory), and nothing else is measured then.
func TestCallOutEndsWithTheProof(t *testing.T) {
	scene{depth: visiting.CallOut, fault: condition.LoadOpen, helps: 1, answers: map[string][]string{
		"complaint": {"1"}, "not-working": {"1 2 3"},
	}}.play(t, func(t *testing.T, v played) {
		assert.Equal(t, "complaint", v.asked[0])
		assert.Equal(t, condition.LoadOpen, v.Found().Leader().ID)
		require.Len(t, v.Repairs(), 1)
		assert.Equal(t, visiting.Worked, v.Repairs()[0].Outcome)
		proof := string(v.Repairs()[0].Action.Proof.Reading)
		require.NotEmpty(t, proof)
		assert.Equal(t, []string{proof}, v.measuredSince(v.repairedBy(t)))
		assert.Empty(t, v.OpenWork())
		v.none(t, "open-work", "open-work-too")
		v.order(t, "complaint", "battery_v", "repair", proof, "appliances", "log")
	})
}

// Where the repair did not help, the call-out does not end as if it had: another repair is
// tried, or somebody is asked to see to it.
func TestCallOutGoesOnWithoutTheProof(t *testing.T) {
	scene{depth: visiting.CallOut, fault: condition.LoadOpen, helps: 2, answers: map[string][]string{
		"complaint": {"1"}, "not-working": {"1 2 3"}, "open-work": {"Ana"},
	}}.play(t, func(t *testing.T, v played) {
		r := v.Repairs()
		require.NotEmpty(t, r)
		assert.Equal(t, visiting.Failed, r[0].Outcome)
		if len(r) == 1 {
			require.NotEmpty(t, v.OpenWork())
			assert.Equal(t, condition.LoadOpen, v.OpenWork()[0].Found.ID)
			return
		}
		assert.Equal(t, visiting.Worked, r[1].Outcome)
		assert.Empty(t, v.OpenWork())
	})
}
