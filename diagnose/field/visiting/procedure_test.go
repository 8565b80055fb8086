package visiting_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Journals of before the choices and checks have bare words; they keep their
// meaning.
func TestOldAnswersKeepTheirMeaning(t *testing.T) {
	entries := []visiting.Entry{{Head: &visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: start}}}
	add := func(a visiting.Answer) {
		a.At = start.Add(time.Duration(len(entries)) * time.Minute)
		entries = append(entries, visiting.Entry{Answer: &a})
	}
	for _, a := range [][2]string{
		{"permission", "yes"}, {"people", "yes"}, {"lightning", "no"}, {"dry", "yes"}, {"battery-look", "no"}, {"cables-look", "no"},
		{"clamp-fit", "yes"}, {"jewellery", "yes"}, {"leads", "yes"}, {"meter-proven", "yes"}, {"tools", "no"}, {"no-current", "yes"},
		{"array-isolate", "done"}, {"short-lead", "yes"}, {"short-on", "done"},
	} {
		add(visiting.Answer{Step: a[0], Kind: visiting.Did, Word: a[1], Typed: a[1]})
	}
	add(visiting.Answer{Step: "loads-on", Kind: visiting.Took, Chosen: []string{"radio"}})
	v, err := visiting.Resume(entries, nil)
	require.NoError(t, err)
	st := v.State()
	assert.Empty(t, st.Stopped)
	for _, id := range []string{"permission", "lightning", "battery-look", "clamp-fit", "meter-proven", "no-current", "array-isolate"} {
		assert.Equal(t, procedure.Good, st.Mark(id), id)
	}
	assert.Equal(t, procedure.Refused, st.Mark("tools"))
	assert.True(t, st.Has(procedure.ArrayIsolated) && st.Has(procedure.ArrayShorted))
	assert.Equal(t, []string{"radio"}, v.Input().Readings.LoadsOn)

	add(visiting.Answer{Step: "cables-look", Kind: visiting.Did, Word: "yes", Reason: "a melted box"})
	v, err = visiting.Resume(entries, nil)
	require.NoError(t, err)
	assert.NotEmpty(t, v.State().Stopped, "a danger seen")
}

// What else is chosen from a list is not the loads that are on.
func TestFindingsAreNotLoads(t *testing.T) {
	v, _ := newVisit(t)
	give(t, v, "loads-on", "1")
	a := give(t, v, "terminals-look", "1 3")
	assert.Equal(t, "green or white crust, a fuse missing, or bridged with wire", a.Text())
	assert.Equal(t, []string{"ward lamps"}, v.Input().Readings.LoadsOn)
	give(t, v, "battery-place", "6")
	assert.Equal(t, procedure.Missed, v.State().Mark("gravity"), "no acid is drawn from a cell whose plates are bare")
}

// The normal value is the range of a healthy plant here and now, whatever the
// belief expects.
func TestPromptSaysWhatIsNormal(t *testing.T) {
	v, _ := newVisit(t)
	r := gains(nil)
	r.Normal = map[reading.Key]belief.Range{reading.PostV: {Lo: 12.1, Hi: 12.7}, reading.BlockV: {Lo: 1, Hi: 2}}
	give(t, v, "post_v", "13")
	p, _ := v.PromptFor("post_v")
	assert.Empty(t, p.Normal, "not known yet")
	v.Learn(v.Seq(), r)
	p, _ = v.PromptFor("post_v")
	assert.Equal(t, "12.10 to 12.70 V if nothing is wrong.", p.Normal)
	give(t, v, "shade", "none")
	p, _ = v.PromptFor("shade")
	assert.Equal(t, "None in the middle of the day.", p.Normal)
}

// Who puts the loads back sees which were on, and how the lamps looked.
func TestLoadsBackSaysWhatWasOn(t *testing.T) {
	for _, tt := range []struct{ typed, want string }{{"1 3", "Loads that are on: ward lamps, radio"}, {"none", "Loads that are on: none"}} {
		v, _ := newVisit(t)
		give(t, v, "loads-on", tt.typed)
		give(t, v, "lamps.array lamp", "1")
		give(t, v, "loads-off", "1 2")
		give(t, v, "loads-back", "done")
		p, ok := v.PromptFor("loads-back")
		require.True(t, ok)
		assert.Contains(t, p.AsFound, tt.want)
		assert.Contains(t, p.AsFound, "Indicator: array lamp")
	}
	v, _ := newVisit(t)
	give(t, v, "loads-back", "done")
	p, ok := v.PromptFor("loads-back")
	require.True(t, ok)
	assert.Empty(t, p.AsFound, "nobody said what was on")
}

// What shows only behind the cover is put right like what was seen before.
func TestBehindTheCover(t *testing.T) {
	v, _ := newVisit(t)
	give(t, v, "covers-off", "opened")
	assert.Empty(t, v.Findings())
	a := give(t, v, "covers-off", "opened: crust")
	assert.Equal(t, procedure.ActDone, a.Word, "it is open all the same")
	require.Len(t, v.Findings(), 1)
	assert.Equal(t, condition.FieldStaff, v.Findings()[0].Who)
}

// A step that is asked again is kept as such; a correction of it is not.
func TestAskedAgain(t *testing.T) {
	v, m := newVisit(t)
	bits := map[reading.Key]float64{}
	to := func(step string) {
		for range 80 {
			v.Learn(v.Seq(), gains(bits))
			p := v.Prompt()
			require.False(t, p.Done, "never comes to %s", step)
			give(t, v, p.Step.ID, goodAnswer(p))
			if p.Step.ID == step {
				return
			}
			for k := range bits {
				if v.Input().Readings.Has(k) {
					delete(bits, k)
				}
			}
		}
		require.Fail(t, "never comes to "+step)
	}
	bits[reading.OpenV] = 9
	to("proved")
	v.Learn(v.Seq(), gains(nil))
	p, ok := v.PromptFor("proved")
	require.True(t, ok)
	assert.Contains(t, p.AsFound, "Indicator: array lamp", "what was found before anything was touched")
	to("labels")
	assert.False(t, v.State().Has(procedure.ArrayIsolated))

	bits[reading.StandbyA] = 9 // as a correction can make it
	to("standby_a")
	assert.True(t, v.State().Has(procedure.ArrayIsolated), "isolated a second time")
	var again []string
	for _, a := range v.History() {
		if a.Again {
			again = append(again, a.Step)
		}
	}
	assert.Equal(t, []string{"no-current", "array-isolate"}, again)
	resumed, err := visiting.Resume(m.entries(t), nil)
	require.NoError(t, err)
	assert.Equal(t, fmt.Sprint(v.State().Has(procedure.ArrayIsolated)), fmt.Sprint(resumed.State().Has(procedure.ArrayIsolated)))
	give(t, v, "standby_a", "0.01")
	assert.False(t, v.History()[len(v.History())-1].Again, "a correction")
	v.Learn(v.Seq(), gains(nil))
	for range 20 {
		p := v.Prompt()
		if p.Done {
			break
		}
		give(t, v, p.Step.ID, goodAnswer(p))
		v.Learn(v.Seq(), gains(nil))
	}
	assert.True(t, v.Done())
	assert.Empty(t, v.Procedure().OpenText(v.State()))
	assert.False(t, v.State().Has(procedure.ArrayIsolated))
}
