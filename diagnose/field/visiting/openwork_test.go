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
	"ampwalk/diagnose/physics/reading"
)

// asked leads a visit to its end with one belief: what was asked about open work.
// Each is answered as said, in turn.
func asked(t *testing.T, v *visiting.Visit, r *belief.Result, said ...string) (prompts []visiting.Prompt) {
	t.Helper()
	for range 60 {
		v.Learn(v.Seq(), r)
		p := v.Prompt()
		if p.Done {
			return prompts
		}
		typed := goodAnswer(p)
		if p.Step.Kind == procedure.Say {
			require.Less(t, len(prompts), len(said), "asked too often")
			typed, prompts = said[len(prompts)], append(prompts, p)
		}
		giveTo(t, v, p, typed)
	}
	require.Fail(t, "the visit does not end")
	return nil
}

func TestWhoSeesToWhatIsOpen(t *testing.T) {
	two := &belief.Result{Conditions: []belief.Posterior{{ID: condition.BypassShort, P: 0.9}, {ID: condition.LoadJoint, P: 0.7}, {ID: condition.Sound, P: 0.02}}}
	v, m := newVisit(t)
	prompts := asked(t, v, two, " A. Mechanic ,  Friday, early", "")
	require.Len(t, prompts, 2)
	assert.Contains(t, prompts[0].Step.Do, condition.Of(condition.BypassShort).Title+" (very likely, 90 %). This is for field staff, licensed electrician. Who will do it")
	assert.Contains(t, prompts[1].Step.Do, condition.Of(condition.LoadJoint).Title)
	assert.Contains(t, prompts[0].Hint, "Enter")

	check := func(v *visiting.Visit) {
		v.Learn(v.Seq(), two)
		work := v.OpenWork()
		require.Len(t, work, 2)
		assert.Equal(t, "A. Mechanic", work[0].Who)
		assert.Equal(t, "Friday, early", work[0].By)
		assert.Empty(t, work[1].Who+work[1].By, "nobody is named")
		left := visiting.LeftBy(v)
		require.False(t, work[0].Day.IsZero(), "a day that people name is a date")
		assert.Equal(t, time.Friday, work[0].Day.Weekday())
		assert.Contains(t, left.Actions[0], "(field staff; A. Mechanic, Friday, early ("+work[0].Day.Format("2 Jan 2006")+"))")
		assert.Contains(t, left.Actions[len(left.Actions)-1], "(field staff)")
	}
	check(v)
	again, err := visiting.Resume(m.entries(t), m)
	require.NoError(t, err)
	check(again)
	assert.True(t, again.Done())

	p, ok := v.PromptFor("open-work-too")
	require.True(t, ok)
	_, err = v.Read(p, "2, 3")
	require.ErrorContains(t, err, `"2, 3" is not a name; expected a name, a day`)
	assert.Equal(t, "nobody is named yet", p.Given.Text())
	assert.Contains(t, p.Step.Do, condition.Of(condition.LoadJoint).Title)
	giveTo(t, v, p, "B. Helper")
	v.Learn(v.Seq(), two)
	assert.Equal(t, "B. Helper", v.OpenWork()[1].Who)

	// What was agreed belongs to its finding, whatever is believed first later.
	v.Learn(v.Seq(), &belief.Result{Conditions: []belief.Posterior{{ID: condition.LoadJoint, P: 0.9}, {ID: condition.StringOpen, P: 0.3}, {ID: condition.BypassShort, P: 0.25}}})
	var who []string
	for _, w := range v.OpenWork() {
		who = append(who, w.Who)
	}
	assert.Equal(t, []string{"B. Helper", "", "A. Mechanic"}, who)
	assert.True(t, v.Done(), "a visit that ended is not opened again by it")
}

func TestNobodyIsAsked(t *testing.T) {
	t.Run("where nothing is wrong", func(t *testing.T) {
		v, _ := newVisit(t)
		assert.Empty(t, asked(t, v, surely(condition.Sound, 0.9)))
	})
	t.Run("about what was mended and works", func(t *testing.T) {
		v, _ := newVisit(t)
		takeAll(t, v, map[reading.Key]string{"array_a": "0"})
		repairOnce(t, v, surely(condition.ArrayOpen, 0.97))
		sound := surely(condition.Sound, 0.97)
		for p := v.Prompt(); p.Step.Reading != reading.ArrayA; p = v.Prompt() {
			giveTo(t, v, p, goodAnswer(p))
			v.Learn(v.Seq(), sound)
		}
		giveTo(t, v, v.Prompt(), "4.4")
		assert.Empty(t, asked(t, v, sound))
		assert.Empty(t, v.OpenWork())
		assert.Equal(t, visiting.Worked, v.Repairs()[0].Outcome)
	})
}

// A repair that did not work is no end of it: somebody has to see to what is left.
func TestFailedRepairStaysOpen(t *testing.T) {
	v, _ := newVisit(t)
	takeAll(t, v, map[reading.Key]string{"array_a": "0"})
	r := surely(condition.ArrayOpen, 0.97)
	repairOnce(t, v, r)
	prompts := asked(t, v, r, "A. Mechanic, Friday")
	require.Len(t, prompts, 1)
	require.Len(t, v.OpenWork(), 1)
	assert.Equal(t, "A. Mechanic", v.OpenWork()[0].Who)
	assert.Equal(t, visiting.Failed, v.Repairs()[0].Outcome)
}
