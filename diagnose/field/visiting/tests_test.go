package visiting_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// inDoubt is a belief by day in which it is so probable that power is held back, and that a
// load draws too much; isolating the array would teach much.
func inDoubt(held, excess float64) *belief.Result {
	r := gains(map[reading.Key]float64{reading.OpenV: 2, reading.ArrayA: 1, reading.LoadA: 1})
	r.Conditions = []belief.Posterior{{ID: condition.Sound, P: 1 - excess}, {ID: condition.LoadExcess, P: excess}}
	r.State.Daylight, r.State.Charging, r.State.Regulating = 1, 1, held
	return r
}

// askedIn is what a visit asks while it is believed so, to where it puts back, without what
// is always asked.
func askedIn(t *testing.T, r func() *belief.Result, answer func(p visiting.Prompt) string) (*visiting.Visit, []string) {
	t.Helper()
	v, _ := newVisit(t)
	var asked []string
	for range 200 {
		v.Learn(v.Seq(), r())
		p := v.Prompt()
		if p.Done || p.Step.Rung >= procedure.Restore {
			return v, asked
		}
		asked = append(asked, p.Step.ID)
		typed := answer(p)
		if typed == "" {
			typed = goodAnswer(p)
		}
		give(t, v, p.Step.ID, typed)
	}
	t.Fatal("no end")
	return nil, nil
}

// Where it is in doubt whether power is held back, the visit asks to load it up: once, after
// the readings of the clamp, and before anything is isolated. Where it is clear it does not.
func TestActiveTestsAreAskedInDoubt(t *testing.T) {
	none := func(visiting.Prompt) string { return "" }
	at := func(list []string, id string) int {
		for i, x := range list {
			if x == id {
				return i
			}
		}
		return -1
	}
	_, asked := askedIn(t, func() *belief.Result { return inDoubt(0.5, 0.5) }, none)
	for _, test := range []string{"test-load-up", "test-one-load"} {
		i := at(asked, test)
		require.GreaterOrEqual(t, i, 0, asked)
		assert.Less(t, at(asked, "array_a"), i)
		assert.Less(t, at(asked, "clamp-fit"), i)
		assert.Less(t, i, at(asked, "array-isolate"), "%s: nothing is isolated before it", test)
		assert.Equal(t, -1, at(asked[i+1:], test), "once")
	}
	assert.Equal(t, -1, at(asked, "test-shade"), "no string is in doubt")
	for _, p := range []float64{0.05, 0.95} {
		_, asked = askedIn(t, func() *belief.Result { return inDoubt(p, 0.1) }, none)
		assert.Equal(t, -1, at(asked, "test-load-up"), "%g is no doubt", p)
		assert.Equal(t, -1, at(asked, "test-one-load"))
		assert.GreaterOrEqual(t, at(asked, "array-isolate"), 0)
	}
	_, asked = askedIn(t, func() *belief.Result { return inDoubt(0.5, 0.5) }, func(p visiting.Prompt) string {
		if p.Step.ID == "permission" {
			return "2" // the loads stay on
		}
		return ""
	})
	assert.Equal(t, -1, at(asked, "test-one-load"), "the loads may not go off")
	assert.GreaterOrEqual(t, at(asked, "test-load-up"), 0)
}

// What a test shows is held against the belief: it is told how likely the readings hold that,
// and where they contradict it, what to take once more. No state is named as so.
func TestActiveTestIsHeldAgainstTheBelief(t *testing.T) {
	told := func(typed string, after float64) visiting.Telling {
		v, _ := newVisit(t)
		for range 200 {
			v.Learn(v.Seq(), inDoubt(0.5, 0.01))
			p := v.Prompt()
			require.False(t, p.Done)
			if p.Step.ID == "test-load-up" {
				give(t, v, p.Step.ID, typed)
				v.Learn(v.Seq(), inDoubt(after, 0.01))
				return v.Together()
			}
			give(t, v, p.Step.ID, goodAnswer(p))
		}
		t.Fatal("not asked")
		return visiting.Telling{}
	}
	says := told("1", 0.7)
	assert.Equal(t, "The current rose, as it does where power is held back; the readings give that 70 %.", says.Text)
	assert.Empty(t, says.Not)
	says = told("1", 0.04)
	assert.Equal(t, reading.ArrayA, says.Not)
	assert.Contains(t, says.Text, "only 4 %: take the array current once more")
	says = told("2", 0.04)
	assert.Contains(t, says.Text, "nothing is held back; the readings give that 96 %")
	assert.LessOrEqual(t, len(strings.Fields(says.Text)), visiting.MostTold)
	assert.NotEqual(t, "test-load-up", told("3", 0.5).ID, "not done: it shows nothing")
}
