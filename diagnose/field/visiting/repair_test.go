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

// surely is a belief in one condition, or none, with nothing left to learn.
func surely(id condition.ID, p float64) *belief.Result {
	return &belief.Result{Conditions: []belief.Posterior{{ID: id, P: p}, {ID: condition.Sound, P: 1 - p}}}
}

// toRepair answers until a repair is offered.
func toRepair(t *testing.T, v *visiting.Visit, r *belief.Result) visiting.Prompt {
	t.Helper()
	for range 60 {
		v.Learn(v.Seq(), r)
		p := v.Prompt()
		if p.Step.ID == "repair" {
			return p
		}
		require.Less(t, p.Step.Rung, procedure.Restore, "%s comes before mending", p.Step.ID)
		if _, _, ok := p.Step.Reading.Node(); ok { // no place can be reached
			require.NoError(t, v.Give(visiting.Answer{Step: p.Step.ID, Kind: visiting.Cannot, Reading: p.Step.Reading, Reason: "no access to the terminals", At: start.Add(time.Hour)}))
			continue
		}
		give(t, v, p.Step.ID, goodAnswer(p))
	}
	require.Fail(t, "mending is never offered")
	return visiting.Prompt{}
}

// repairOnce agrees to the first repair offered and does it.
func repairOnce(t *testing.T, v *visiting.Visit, r *belief.Result) visiting.Prompt {
	t.Helper()
	giveTo(t, v, toRepair(t, v, r), "2")
	for range 20 {
		v.Learn(v.Seq(), r)
		p := v.Prompt()
		if p.Action != "" {
			giveTo(t, v, p, "2")
			return p
		}
		give(t, v, p.Step.ID, goodAnswer(p))
	}
	require.Fail(t, "the repair is never asked for")
	return visiting.Prompt{}
}

func giveTo(t *testing.T, v *visiting.Visit, p visiting.Prompt, typed string) {
	t.Helper()
	a, err := v.Read(p, typed)
	require.NoError(t, err)
	a.At = start.Add(time.Hour)
	require.NoError(t, v.Give(a))
}

func TestRepairIsProved(t *testing.T) {
	v, m := newVisit(t)
	takeAll(t, v, map[reading.Key]string{"array_a": "0", "array_v": "0.02"})
	r := surely(condition.ArrayOpen, 0.97)
	p := toRepair(t, v, r)
	assert.Equal(t, []string{"not-now", "now"}, p.Step.Choices.IDs())
	assert.Contains(t, p.Step.Do, "Look at the array switch, plugs and fuse")
	assert.NotContains(t, p.Step.Do, "fit one of the same type", "one action at a time")
	assert.Contains(t, p.Step.Do, "About 10 minutes. Who may: field staff")
	assert.Contains(t, p.Step.Caution, "a DC arc does not go out by itself")
	p = repairOnce(t, v, r)
	assert.Equal(t, "array-open/close", p.Action)
	assert.Equal(t, "what was open is closed", v.Mended())
	assert.Nil(t, v.Belief(), "what was believed is of the plant before")
	require.NotNil(t, v.Found())
	assert.InDelta(t, 0.97, v.Found().Of(condition.ArrayOpen), 0)
	assert.NotContains(t, v.Input().Readings.Numbers, reading.ArrayA, "read of another plant")

	v.Learn(v.Seq(), surely(condition.Sound, 0.6))
	for range 10 {
		if p = v.Prompt(); p.Step.Reading == reading.ArrayA {
			break
		}
		give(t, v, p.Step.ID, goodAnswer(p))
		v.Learn(v.Seq(), surely(condition.Sound, 0.6))
	}
	require.Equal(t, reading.ArrayA, p.Step.Reading)
	assert.Contains(t, p.Why, "In sun, current flows")
	assert.Nil(t, p.Expected, "nobody is led to type it")
	giveTo(t, v, p, "4.4")
	assert.Equal(t, "0.00 A, then 4.40 A", visiting.TakesText(v.Takes("array_a")), "before and after")
	assert.InDelta(t, 4.4, v.Input().Readings.Numbers[reading.ArrayA], 0, "the belief follows the plant as left")
	assert.Zero(t, v.FoundInput().Readings.Numbers[reading.ArrayA])

	v.Learn(v.Seq(), surely(condition.Sound, 0.97))
	again, err := visiting.Resume(m.entries(t), m)
	require.NoError(t, err)
	assert.Equal(t, v.Input(), again.Input())
	assert.Equal(t, v.FoundInput(), again.FoundInput())
	assert.Equal(t, v.Mended(), again.Mended())
}

// One key leaves it, and it is not asked again.
func TestRepairIsSkipped(t *testing.T) {
	v, _ := newVisit(t)
	r := surely(condition.ArrayOpen, 0.97)
	giveTo(t, v, toRepair(t, v, r), "1")
	v.Learn(v.Seq(), r)
	assert.Empty(t, v.Mended())
	for range 20 {
		p := v.Prompt()
		if p.Done {
			return
		}
		require.Empty(t, p.Action)
		require.False(t, p.Once)
		give(t, v, p.Step.ID, goodAnswer(p))
		v.Learn(v.Seq(), r)
	}
	require.Fail(t, "the visit does not end")
}

// With the array isolated the current is read again once it is connected.
func TestProofWaitsForPuttingBack(t *testing.T) {
	v, _ := newVisit(t)
	takeAll(t, v, map[reading.Key]string{"array_a": "0", "open_v": "0.1"})
	r := surely(condition.ArrayOpen, 0.97)
	require.True(t, v.State().Has(procedure.ArrayIsolated))
	repairOnce(t, v, r)
	for range 20 {
		v.Learn(v.Seq(), surely(condition.Sound, 0.6))
		p := v.Prompt()
		if p.Step.Reading == reading.ArrayA {
			assert.False(t, v.State().Has(procedure.ArrayIsolated))
			return
		}
		require.NotEqual(t, procedure.Leave, p.Step.Rung, "it is proved before leaving")
		give(t, v, p.Step.ID, goodAnswer(p))
	}
}

func TestRepairIsNotOffered(t *testing.T) {
	for name, r := range map[string]*belief.Result{
		"nothing is wrong":           surely(condition.Sound, 0.97),
		"only possible":              surely(condition.ArrayOpen, 0.4),
		"nothing that is for them":   surely(condition.BypassShort, 0.97),
		"a worn battery, not tested": surely(condition.BatteryWorn, 0.97),
	} {
		t.Run(name, func(t *testing.T) {
			v, _ := newVisit(t)
			for range 60 {
				v.Learn(v.Seq(), r)
				p := v.Prompt()
				if p.Done {
					return
				}
				require.Empty(t, p.Action)
				give(t, v, p.Step.ID, goodAnswer(p))
			}
			require.Fail(t, "the visit does not end")
		})
	}
	t.Run("after a stop", func(t *testing.T) {
		v, _ := newVisit(t)
		r := surely(condition.ArrayOpen, 0.97)
		v.Learn(v.Seq(), r)
		require.NoError(t, v.Give(visiting.Answer{Step: v.Prompt().Step.ID, Kind: visiting.Stop, Reason: "smoke", At: start}))
		v.Learn(v.Seq(), r)
		assert.Empty(t, v.Prompt().Action)
	})
}

// The place is found before a repair is offered: live at the array's side of its switch
// and dead behind it, the switch is open (common practice: halving a circuit).
func TestPlaceIsFoundBeforeTheRepair(t *testing.T) {
	v, m := newVisit(t)
	takeAll(t, v, map[reading.Key]string{"array_a": "0", "array_v": "0.02", "module_v": "20.1"})
	r := surely(condition.ArrayOpen, 0.97)
	taken := 0
	for range 60 {
		v.Learn(v.Seq(), r)
		p := v.Prompt()
		if p.Step.ID == "repair" {
			assert.Equal(t, "array-open/close", p.Action)
			assert.Contains(t, p.Step.Do, "the array switch or plug")
			break
		}
		typed := goodAnswer(p)
		if _, node, ok := p.Step.Reading.Node(); ok {
			taken++
			require.Equal(t, procedure.Probe, p.Step.Rung)
			if typed = "0.03"; node == "array-side" || node == "module" {
				typed = "20.05"
			}
		}
		give(t, v, p.Step.ID, typed)
	}
	assert.Positive(t, taken)
	assert.LessOrEqual(t, taken, 4)
	p, ok := v.Place(condition.ArrayOpen)
	require.True(t, ok && p.Found())
	assert.Equal(t, "array-switch", p.Left[0].Part.ID)
	again, err := visiting.Resume(m.entries(t), m)
	require.NoError(t, err)
	again.Learn(again.Seq(), r)
	same, _ := again.Place(condition.ArrayOpen)
	assert.Equal(t, p.Parts, same.Parts)
	assert.NotContains(t, v.Input().Readings.Numbers, reading.Key("place.array.array-side"), "it tells where, not which")
}

// A repair that changed nothing at its meter is not held to have worked, whatever else could
// explain the reading. What people told of the fault holds until a reading changed.
func TestRepairThatChangedNothing(t *testing.T) {
	for _, tt := range []struct {
		after string
		want  visiting.RepairOutcome
		told  bool
	}{{"0.00", visiting.Unproved, true}, {"4.4", visiting.Worked, false}} {
		v, _ := newVisit(t)
		takeAll(t, v, map[reading.Key]string{"array_a": "0"})
		repairOnce(t, v, surely(condition.ArrayOpen, 0.97))
		sound := surely(condition.Sound, 0.97)
		for p := v.Prompt(); p.Step.Reading != reading.ArrayA; p = v.Prompt() {
			giveTo(t, v, p, goodAnswer(p))
			v.Learn(v.Seq(), sound)
		}
		require.Contains(t, v.Input().Readings.Several, reading.NotWorking, "nothing is proven yet")
		giveTo(t, v, v.Prompt(), tt.after)
		v.Learn(v.Seq(), sound)
		require.Len(t, v.Repairs(), 1)
		assert.Equal(t, tt.want, v.Repairs()[0].Outcome, tt.after)
		_, told := v.Input().Readings.Several[reading.NotWorking]
		assert.Equal(t, tt.told, told, tt.after)
		assert.Contains(t, v.FoundInput().Readings.Several, reading.NotWorking, "as found it stays")
	}
}
