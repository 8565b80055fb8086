package conversation_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A disk keeps entries until it is full.
type disk struct{ full bool }

func (d *disk) Append(visiting.Entry) error {
	if d.full {
		return errors.New("no space left on device")
	}
	return nil
}

var noon = time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)

// talk is a conversation at the demo site whose inference would have the sky, the shadow
// and the light looked at.
func talk(t *testing.T, d *disk) (*conversation.Talk, *int) {
	t.Helper()
	v, err := visiting.New(visiting.Head{SiteTOML: string(site.DemoTOML()), StartedAt: noon}, d)
	require.NoError(t, err)
	inferred := 0
	infer := func(belief.Input) (*belief.Result, error) {
		inferred++
		gains := []belief.Gain{{Reading: reading.Sky, Bits: 3}, {Reading: reading.Shade, Bits: 2}, {Reading: reading.Irradiance, Bits: 1}}
		return &belief.Result{Conditions: []belief.Posterior{{ID: "array-open", P: 0.6}, {ID: "sound", P: 0.4}}, Gains: gains}, nil
	}
	return conversation.New(v, infer, func() time.Time { return noon }), &inferred
}

// on does the work that waits, and asks.
func on(t *testing.T, talk *conversation.Talk) visiting.Prompt {
	t.Helper()
	if work, ok := talk.Work(); ok {
		_, err := talk.Learn(work.Do())
		require.NoError(t, err)
	}
	p, err := talk.Ask()
	require.NoError(t, err)
	return p
}

// until answers as nobody would object to, until step is asked.
func until(t *testing.T, talk *conversation.Talk, step string) visiting.Prompt {
	t.Helper()
	for range 60 {
		p := on(t, talk)
		if p.Step.ID == step {
			return p
		}
		require.False(t, p.Done, "%s was never asked: %v", step, talk.Answers())
		require.NoError(t, talk.Answer(plain(p)), p.Step.ID)
	}
	t.Fatalf("%s was never asked", step)
	return visiting.Prompt{}
}

// plain is the answer of somebody at a site where nothing is wrong to see.
func plain(p visiting.Prompt) string {
	switch s := p.Step; {
	case s.Reading == reading.Sky:
		return "clear"
	case len(s.Checks) == 1:
		return "1"
	case len(s.Checks) > 1:
		all := ""
		for i := range s.Checks {
			all += string(rune('1'+i)) + " "
		}
		return all
	case s.Kind == procedure.Choose:
		return "none"
	case s.Kind == procedure.Confirm && len(s.Choices) == 0:
		return "yes"
	case s.Kind == procedure.Act && len(s.Choices) == 0:
		return "done"
	default:
		return "1"
	}
}

func TestDoubtIsAskedOnce(t *testing.T) {
	talk, _ := talk(t, &disk{})
	until(t, talk, "irradiance_w_m2")
	doubt := (*visiting.Doubt)(nil)
	require.ErrorAs(t, talk.Answer("1700"), &doubt)
	assert.Equal(t, doubt, talk.Doubt())
	require.ErrorAs(t, talk.Answer("1750"), &doubt, "another figure is another doubt")
	require.NoError(t, talk.Answer(talk.Doubted()))
	assert.Nil(t, talk.Doubt())
	answers := talk.Visit().Answers()
	assert.True(t, answers[len(answers)-1].Doubted)
	assert.Contains(t, talk.Last().Text, "1750 W/m2")
}

func TestBackAndForward(t *testing.T) {
	talk, _ := talk(t, &disk{})
	on(t, talk)
	require.Error(t, talk.Back(), "nothing stands before the first question")
	open := until(t, talk, "shade")
	n := len(talk.Answers())
	require.Equal(t, n, talk.At())

	require.NoError(t, talk.Back())
	assert.Equal(t, "sky", talk.Prompt().Step.ID)
	assert.False(t, talk.Open())
	assert.Equal(t, n-1, talk.At())
	assert.False(t, talk.Forward(), "the open question is next")
	assert.Equal(t, open.Step.ID, on(t, talk).Step.ID)

	require.NoError(t, talk.ShowNumber("1", 1))
	assert.Equal(t, talk.Answers()[0].Step, talk.Prompt().Step.ID)
	assert.True(t, talk.Forward())
	require.Error(t, talk.ShowNumber("99", 99))
	require.True(t, talk.Show("sky"))
	require.NoError(t, talk.Answer("2"))
	assert.Len(t, talk.Answers(), n, "a corrected answer takes the place of the one before")
	assert.True(t, talk.Open())
}

func TestAgainKeepsBoth(t *testing.T) {
	talk, _ := talk(t, &disk{})
	on(t, talk)
	require.Error(t, talk.Again(), "nothing was read yet")
	until(t, talk, "shade")
	require.NoError(t, talk.Again())
	assert.Equal(t, "sky", talk.Prompt().Step.ID)
	assert.True(t, talk.Repeating())
	require.NoError(t, talk.Answer("2"))
	assert.Contains(t, talk.Last().Text, ", then ")

	require.NoError(t, talk.ShowNumber("1", 1))
	require.Error(t, talk.Again(), "a permission is no reading")
}

// What the disk did not keep waits, and is kept when there is room again.
func TestUnkept(t *testing.T) {
	d := &disk{}
	talk, _ := talk(t, d)
	p := on(t, talk)
	d.full = true
	require.Error(t, talk.Answer("1"))
	require.True(t, talk.Unkept())
	require.Error(t, talk.Retry())
	d.full = false
	require.NoError(t, talk.Retry())
	assert.False(t, talk.Unkept())
	assert.Equal(t, p.Step.ID, talk.Answers()[0].Step)
}

// The inference runs only where something new is known, and a late one is dropped.
func TestWork(t *testing.T) {
	talk, inferred := talk(t, &disk{})
	until(t, talk, "sky")
	assert.Equal(t, 2, *inferred, "who permits what teaches nothing of the plant; what people complain of does")
	require.NoError(t, talk.Answer("1"))
	late, ok := talk.Work()
	require.True(t, ok)
	_, err := talk.Ask()
	require.NoError(t, err)
	require.NoError(t, talk.Answer("1"))
	taken, err := talk.Learn(late.Do())
	require.NoError(t, err)
	assert.False(t, taken)
}

func TestNoBeliefIsNoEnd(t *testing.T) {
	v, err := visiting.New(visiting.Head{SiteTOML: string(site.DemoTOML()), StartedAt: noon}, &disk{})
	require.NoError(t, err)
	fails := func(belief.Input) (*belief.Result, error) { return nil, errors.New("no state fits") }
	talk := conversation.New(v, fails, func() time.Time { return noon })
	work, ok := talk.Work()
	require.True(t, ok)
	_, err = talk.Learn(work.Do())
	require.ErrorContains(t, err, "no state fits")
	p, err := talk.Ask()
	require.NoError(t, err)
	assert.False(t, p.Done)
}

func TestCannotStopNote(t *testing.T) {
	talk, _ := talk(t, &disk{})
	until(t, talk, "sky")
	require.NoError(t, talk.Note("dust from the road"))
	assert.Equal(t, "sky", talk.Prompt().Step.ID, "a note answers nothing")
	assert.Equal(t, "dust from the road", talk.Notes()[0].Text)
	why := talk.Reasons(visiting.Cannot)[0]
	require.NoError(t, talk.Cannot(why))
	assert.Equal(t, visiting.Cannot, talk.Last().Kind)
	on(t, talk)
	require.NoError(t, talk.Stop(talk.Reasons(visiting.Stop)[0]))
	assert.NotEmpty(t, talk.Visit().Procedure().Ended(talk.Visit().State()))
	_, err := talk.WhatIf("3")
	require.Error(t, err, "no number is asked for")
}

// Who leaves with something open is asked who decided that, and it is kept.
func TestLeaving(t *testing.T) {
	talk, _ := talk(t, &disk{})
	on(t, talk)
	assert.True(t, talk.Leaving().Free())
	require.NoError(t, talk.Leave("nobody"))
	assert.Empty(t, talk.Notes(), "nothing is open, so there is nothing to keep")
	v := talk.Visit()
	for _, step := range []string{"loads-off", "array-isolate"} {
		require.NoError(t, v.Give(visiting.Answer{Step: step, Kind: visiting.Did, Word: procedure.ActDone, At: noon}))
	}
	left := talk.Leaving()
	require.False(t, left.Free())
	require.NotEmpty(t, left.Open)
	require.NoError(t, talk.Leave("the owner"))
	require.Len(t, talk.Notes(), 1)
	assert.Contains(t, talk.Notes()[0].Text, "the owner")
}
