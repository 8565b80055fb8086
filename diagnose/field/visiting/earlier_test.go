package visiting

import (
	"errors"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A pile is a journal in memory that refuses entries once it is full.
type pile struct {
	entries []Entry
	room    int
}

func (p *pile) Append(e Entry) error {
	if len(p.entries) >= p.room {
		return errors.New("no space left on device")
	}
	p.entries = append(p.entries, e)
	return nil
}

// steps are the steps that stand answered.
func (v *Visit) steps() []string {
	var list []string
	for _, a := range v.Answers() {
		list = append(list, a.Step)
	}
	return list
}

// again is a visit begun some time after another one, answered up to the first question
// about what was found before.
func again(t *testing.T, before *Visit, after time.Duration, text string, j Journal) (*Visit, Prompt) {
	t.Helper()
	h := Head{SiteTOML: text, StartedAt: before.head.StartedAt.Add(after)}
	h.Earlier = EarlierFor(before, text, h.StartedAt)
	v, err := New(h, j)
	require.NoError(t, err)
	for range 12 {
		p := v.Prompt()
		if p.Step.ID == asBeforeStep || p.Step.Rung > procedure.Prepare {
			return v, p
		}
		a := Answer{Step: p.Step.ID, Kind: Did, At: h.StartedAt}
		switch {
		case p.Step.Kind == procedure.Take:
			a.Kind, a.Reading, a.Word = Took, p.Step.Reading, "round"
		case p.Step.Kind == procedure.Choose:
			a.Kind, a.Chosen = Took, []string{}
		case len(p.Step.Checks) > 0:
			a.Choose(p.Step.Checks)
			a.Word = p.Step.Word(a.Chosen)
		default:
			a.Choose(p.Step.Choices[:1])
			a.Word = p.Step.Word(a.Chosen)
		}
		require.NoError(t, v.Give(a))
	}
	t.Fatal("the looking was never reached")
	return nil, Prompt{}
}

func say(v *Visit, id string) Answer {
	s, _ := v.course.Step(asBeforeStep)
	c, _ := s.Choices.With(id)
	a := Answer{Step: s.ID, Kind: Did, At: v.head.StartedAt}
	a.Choose(procedure.Choices{c})
	a.Word = s.Word(a.Chosen)
	return a
}

// On the next visit within a day what holds is one question. What tells of a danger, who
// permits what and what people tell is asked anew; on a later day the sky of the day before
// is forgotten, and a changed site file is compared again.
func TestWhatHolds(t *testing.T) {
	before, text := led(t, Full), string(site.DemoTOML())
	j := &pile{room: 100}
	v, p := again(t, before, 20*time.Hour, text, j)
	require.Equal(t, asBeforeStep, p.Step.ID)
	assert.Contains(t, p.Step.Do, "On 20 Nov 2026 12:00 this was found. The site and its file: ")
	assert.Contains(t, p.Step.Do, "Glass of the array: ")
	require.NoError(t, v.Give(say(v, "same")))
	held := []string{"site", "changed", "glass", "array-look"}
	for _, step := range held {
		assert.Equal(t, procedure.Good, v.state.Mark(step), step)
	}
	assert.Equal(t, before.readings.Words[reading.Glass], v.readings.Words[reading.Glass])
	for _, step := range []string{"battery-look", "cables-look", "battery-place", "terminals-look", "sky", "loads-on"} {
		assert.Equal(t, procedure.Open, v.state.Mark(step), step)
	}

	same, err := Resume(j.entries, nil)
	require.NoError(t, err)
	assert.Equal(t, v.state.Mark("glass"), same.state.Mark("glass"))
	assert.Equal(t, v.steps(), same.steps())
	assert.Equal(t, v.Prompt().Step.ID, same.Prompt().Step.ID)

	_, p = again(t, before, 3*24*time.Hour, text, forgets{})
	require.Equal(t, asBeforeStep, p.Step.ID)
	assert.NotContains(t, p.Step.Do, "Glass")
	assert.Nil(t, EarlierFor(before, text+"\n# another fuse\n", before.head.StartedAt.Add(3*24*time.Hour)), "the file is not the same")
}

// Who says that something changed is asked all of it, also after a first "yes"; what was
// answered since stays.
func TestNotSoAfterAll(t *testing.T) {
	before, text := led(t, Full), string(site.DemoTOML())
	j := &pile{room: 100}
	v, _ := again(t, before, time.Hour, text, j)
	require.NoError(t, v.Give(say(v, "same")))
	require.NoError(t, v.Give(Answer{Step: "glass", Kind: Took, Reading: reading.Glass, Word: "caked", At: v.head.StartedAt}))
	require.NoError(t, v.Give(say(v, "changed")))
	assert.Equal(t, procedure.Open, v.state.Mark("site"))
	assert.Equal(t, procedure.Good, v.state.Mark("glass"))
	assert.Equal(t, "caked", v.readings.Words[reading.Glass])
	assert.Equal(t, "site", v.Prompt().Step.ID)
	same, err := Resume(j.entries, nil)
	require.NoError(t, err)
	assert.Equal(t, v.steps(), same.steps())

	require.NoError(t, v.Give(say(v, "same")), "and back")
	assert.Equal(t, procedure.Good, v.state.Mark("site"))
	assert.Equal(t, "caked", v.readings.Words[reading.Glass], "what was looked at now counts")
}

// An answer that the disk did not take whole is tried again, and nothing stands twice.
func TestHeldAnswersOnAFullDisk(t *testing.T) {
	before, text := led(t, Full), string(site.DemoTOML())
	j := &pile{room: 100}
	v, _ := again(t, before, time.Hour, text, j)
	j.room = len(j.entries) + 2
	require.Error(t, v.Give(say(v, "same")))
	assert.Equal(t, procedure.Open, v.state.Mark(asBeforeStep))
	j.room = 100
	require.NoError(t, v.Give(say(v, "same")))
	steps := v.steps()
	slices.Sort(steps)
	assert.Len(t, slices.Compact(slices.Clone(steps)), len(steps))
	assert.Equal(t, procedure.Good, v.state.Mark("array-look"))
}
