package visiting_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

var start = time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC)

// A memory is a journal that keeps entries as the bytes a disk would.
type memory struct {
	lines []string
	full  bool
}

var errFull = errors.New("disk full")

func (m *memory) Append(e visiting.Entry) error {
	if m.full {
		return errFull
	}
	text, err := json.Marshal(e)
	m.lines = append(m.lines, string(text))
	return err
}

func (m *memory) entries(t require.TestingT) []visiting.Entry {
	var list []visiting.Entry
	for _, l := range m.lines {
		var e visiting.Entry
		require.NoError(t, json.Unmarshal([]byte(l), &e))
		list = append(list, e)
	}
	return list
}

// gains is a belief that says only what readings would teach [bits].
func gains(bits map[reading.Key]float64) *belief.Result {
	r := &belief.Result{Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.5}, {ID: condition.ArrayOpen, P: 0.5}}, Expect: map[reading.Key]belief.Range{}}
	for _, s := range reading.Specs {
		if b, ok := bits[s.Key]; ok {
			r.Gains = append(r.Gains, belief.Gain{Reading: s.Key, Bits: b})
		}
	}
	return r
}

func newVisit(t require.TestingT) (*visiting.Visit, *memory) {
	m := &memory{}
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: start}, m)
	require.NoError(t, err)
	return v, m
}

// step is the prompt of a step, whether its turn has come or not.
func step(t require.TestingT, v *visiting.Visit, id string) visiting.Prompt {
	s, ok := v.Procedure().Step(id)
	require.True(t, ok, id)
	p := visiting.Prompt{Step: s}
	if s.Kind == procedure.Take {
		p.Spec, _ = reading.SpecOf(s.Reading)
	}
	return p
}

// give types text at a step and keeps the answer.
func give(t require.TestingT, v *visiting.Visit, id, typed string) visiting.Answer {
	a, err := v.ReadAnyway(step(t, v, id), typed)
	require.NoError(t, err, "%s: %q", id, typed)
	a.At = start.Add(time.Duration(len(v.History())+1) * time.Minute)
	require.NoError(t, v.Give(a))
	return a
}

func TestRead(t *testing.T) {
	v, _ := newVisit(t)
	num := func(x float64) *float64 { return &x }
	tests := []struct {
		step, typed string
		want        visiting.Answer
	}{
		{"permission", "1", visiting.Answer{Kind: visiting.Did, Word: "yes", Chosen: []string{"yes"}}},
		{"permission", "3, nobody is here", visiting.Answer{Kind: visiting.Did, Word: "no", Chosen: []string{"no"}, Reason: "nobody is here"}},
		{"lightning", "a storm", visiting.Answer{Kind: visiting.Did, Word: "yes", Chosen: []string{"storm"}}},
		{"lightning", "1", visiting.Answer{Kind: visiting.Did, Word: "no", Chosen: []string{"none"}}},
		{"dry", "2 1", visiting.Answer{Kind: visiting.Did, Word: "yes", Chosen: []string{"floor", "hands"}}},
		{"covers-off", "2", visiting.Answer{Kind: visiting.Did, Word: "none", Chosen: []string{"no-cover"}}},
		{"rest", "d", visiting.Answer{Kind: visiting.Did, Word: "done"}},
		{"array-look", "none", visiting.Answer{Kind: visiting.Took, Chosen: []string{}}},
		{"sky", "cl", visiting.Answer{Kind: visiting.Took, Reading: reading.Sky, Word: "clear"}},
		{"sky", "1", visiting.Answer{Kind: visiting.Took, Reading: reading.Sky, Word: "dark"}},
		{"sky", "OVERCAST", visiting.Answer{Kind: visiting.Took, Reading: reading.Sky, Word: "overcast"}},
		{"lamps.battery lamp", "tw", visiting.Answer{Kind: visiting.Took, Reading: "lamps.battery lamp", Word: "two bars"}},
		{"loads-on", "none", visiting.Answer{Kind: visiting.Took, Chosen: []string{}}},
		{"loads-on", "all", visiting.Answer{Kind: visiting.Took, Chosen: []string{"ward lamps", "phone charging", "radio"}}},
		{"loads-on", "3 1", visiting.Answer{Kind: visiting.Took, Chosen: []string{"ward lamps", "radio"}}},
		{"loads-on", "radio, ward", visiting.Answer{Kind: visiting.Took, Chosen: []string{"ward lamps", "radio"}}},
		{"loads-on", "ward lamps", visiting.Answer{Kind: visiting.Took, Chosen: []string{"ward lamps"}}},
		{"battery_v", "13,1 V", visiting.Answer{Kind: visiting.Took, Reading: reading.BatteryV, Number: num(13.1)}},
		{"array_a", "470 mA", visiting.Answer{Kind: visiting.Took, Reading: reading.ArrayA, Number: num(0.47)}},
		{"gravity", "1.26 1,25; 1.26, 1.24 1.25 1.26", visiting.Answer{Kind: visiting.Took, Reading: reading.Gravity, List: []float64{1.26, 1.25, 1.26, 1.24, 1.25, 1.26}}},
		{"battery_v", "\x1b[31m12.5\x07", visiting.Answer{Kind: visiting.Took, Reading: reading.BatteryV, Number: num(12.5)}},
	}
	for _, tt := range tests {
		t.Run(tt.step+" "+tt.typed, func(t *testing.T) {
			got, err := v.Read(step(t, v, tt.step), tt.typed)
			require.NoError(t, err)
			assert.NotContains(t, got.Typed, "\x1b")
			for i, id := range got.Chosen {
				c, ok := slices.Concat(step(t, v, tt.step).Step.Choices, step(t, v, tt.step).Step.Checks).With(id)
				require.True(t, ok, id)
				assert.Equal(t, c.Text, got.Labels[i], "the words that were read")
			}
			require.Len(t, got.Labels, len(got.Chosen))
			got.Typed, got.Labels = "", nil
			tt.want.Step = tt.step
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestReadRefuses(t *testing.T) {
	v, _ := newVisit(t)
	for _, tt := range []struct{ step, typed string }{
		{"permission", ""}, {"permission", "maybe"}, {"permission", "4"}, {"permission", "yes"},
		{"dry", ""}, {"dry", "1"}, {"dry", "all"}, {"dry", "yes"},
		{"loads-off", ""}, {"loads-off", "not yet"}, {"rest", "not yet"},
		{"sky", ""}, {"sky", "5"}, {"sky", "c1"},
		{"lamps.battery lamp", "t x"},
		{"loads-on", ""}, {"loads-on", ","}, {"loads-on", "4"}, {"loads-on", "1 fridge"},
		{"battery_v", ""}, {"battery_v", "1k2"}, {"battery_v", "13.1 A"}, {"battery_v", "nan"}, {"battery_v", "900"},
		{"gravity", "1.25 1.25"}, {"gravity", ""},
	} {
		t.Run(tt.step+" "+tt.typed, func(t *testing.T) {
			_, err := v.ReadAnyway(step(t, v, tt.step), tt.typed)
			require.Error(t, err)
			assert.NotErrorAs(t, err, new(*visiting.Doubt), "there is nothing to confirm")
		})
	}
}

// A beginning that several choices have is asked about, not guessed.
func TestReadAmbiguousBeginning(t *testing.T) {
	v, _ := newVisit(t)
	p := step(t, v, "lamps.battery lamp")
	p.Step.Choices = procedure.Named("two bars", "three bars")
	_, err := v.Read(p, "t")
	require.Error(t, err)
	a, err := v.Read(p, "th")
	require.NoError(t, err)
	assert.Equal(t, "three bars", a.Word)
}

func TestDoubtIsAskedAndThenCarried(t *testing.T) {
	v, _ := newVisit(t)
	p := step(t, v, "battery_v")
	_, err := v.Read(p, "29")
	var doubt *visiting.Doubt
	require.ErrorAs(t, err, &doubt)
	assert.Equal(t, "29", doubt.Typed)
	assert.Zero(t, v.Seq(), "asking keeps nothing")

	a := give(t, v, "battery_v", "29")
	assert.True(t, a.Doubted)
	assert.True(t, v.Input().Readings.Doubted[reading.BatteryV])

	give(t, v, "battery_v", "12.9")
	assert.Empty(t, v.Input().Readings.Doubted, "a better reading takes the doubt away")
}

func TestCorrectionKeepsEverythingAfter(t *testing.T) {
	v, m := newVisit(t)
	give(t, v, "sky", "clear")
	give(t, v, "battery_v", "13.1")
	give(t, v, "loads-on", "1")
	at := start.Add(time.Hour)
	require.NoError(t, v.Give(visiting.Answer{Step: "post_v", Kind: visiting.Cannot, Reading: reading.PostV, Reason: "locked", At: at}))
	assert.Equal(t, []reading.Key{reading.PostV}, v.Input().Readings.NotTaken)

	give(t, v, "sky", "hazy")
	give(t, v, "post_v", "13.0")

	var steps []string
	for _, a := range v.Answers() {
		steps = append(steps, a.Step+" "+a.Text())
	}
	assert.Equal(t, []string{"sky hazy", "battery_v 13.10 V", "loads-on ward lamps", "post_v 13.00 V"}, steps)
	assert.Len(t, v.History(), 6, "both answers stay")
	assert.Len(t, m.lines, 7)

	got := v.Input().Readings
	assert.Equal(t, "hazy", got.Words[reading.Sky])
	assert.InDelta(t, 13.1, got.Numbers[reading.BatteryV], 0)
	assert.Equal(t, []string{"ward lamps"}, got.LoadsOn)
	assert.Empty(t, got.NotTaken)

	p, ok := v.PromptFor("battery_v")
	require.True(t, ok)
	require.NotNil(t, p.Given)
	assert.Equal(t, "13.1", p.Given.Typed)
	_, ok = v.PromptFor("load_v")
	assert.False(t, ok, "it was not answered")
}

// What is kept in the journal comes first: if that fails, nothing changes.
func TestNothingChangesThatIsNotKept(t *testing.T) {
	v, m := newVisit(t)
	give(t, v, "sky", "clear")
	before := v.Input()
	m.full = true
	a, err := v.Read(step(t, v, "sky"), "dark")
	require.NoError(t, err)
	a.At = start
	require.ErrorIs(t, v.Give(a), errFull)
	assert.Equal(t, before, v.Input())
	assert.Equal(t, 1, v.Seq())
}

func TestGiveRefuses(t *testing.T) {
	v, m := newVisit(t)
	require.ErrorIs(t, v.Give(visiting.Answer{Step: "sky", Kind: visiting.Took, Word: "dark"}), visiting.ErrNoTime)
	require.Error(t, v.Give(visiting.Answer{Step: "no such step", Kind: visiting.Did, At: start}))
	assert.Len(t, m.lines, 1, "the head alone")
}

func TestNotesAnswerNothing(t *testing.T) {
	v, _ := newVisit(t)
	give(t, v, "sky", "clear")
	require.NoError(t, v.Give(visiting.Answer{Step: "sky", Kind: visiting.Note, Reason: "haze in the west", At: start}))
	assert.Equal(t, 1, v.Seq())
	assert.Len(t, v.Answers(), 1)
	require.Len(t, v.Notes(), 1)
	assert.Equal(t, "haze in the west", v.Notes()[0].Text())
}

func TestLearnIgnoresWhatIsOvertaken(t *testing.T) {
	v, _ := newVisit(t)
	first, second := gains(nil), gains(nil)
	seq := v.Seq()
	require.True(t, v.Learn(seq, first))
	assert.Nil(t, v.Before())
	give(t, v, "sky", "clear")
	assert.Same(t, first, v.Before())
	assert.False(t, v.Learn(seq, second), "it belongs to the answers before")
	assert.Same(t, first, v.Belief())
	assert.True(t, v.Learn(v.Seq(), second))
	assert.Same(t, second, v.Belief())
	assert.Same(t, first, v.Before())
}

func TestInputIsACopy(t *testing.T) {
	v, _ := newVisit(t)
	give(t, v, "battery_v", "13.1")
	v.Input().Readings.Numbers[reading.BatteryV] = 0
	assert.InDelta(t, 13.1, v.Input().Readings.Numbers[reading.BatteryV], 0)
}

func TestPromptFollowsTheBelief(t *testing.T) {
	v, _ := newVisit(t)
	for range 40 { // all that is always asked
		v.Learn(v.Seq(), gains(nil))
		p := v.Prompt()
		if !p.Step.Always {
			break
		}
		give(t, v, p.Step.ID, goodAnswer(p))
	}
	r := gains(map[reading.Key]float64{reading.AirC: 0.1, reading.Irradiance: 0.9})
	r.Expect[reading.Irradiance] = belief.Range{Lo: 700, Hi: 900}
	v.Learn(v.Seq(), r)
	p := v.Prompt()
	assert.Equal(t, reading.Irradiance, p.Step.Reading)
	assert.NotEmpty(t, p.Why)
	require.NotNil(t, p.Expected)
	assert.Equal(t, "800", p.Hint)

	var asked []reading.Key
	for v.Learn(v.Seq(), gains(nil)); v.Prompt().Step.Rung < procedure.Restore; v.Learn(v.Seq(), gains(nil)) {
		p := v.Prompt()
		asked = append(asked, p.Step.Reading)
		give(t, v, p.Step.ID, goodAnswer(p))
		require.Less(t, len(asked), 20)
	}
	assert.Contains(t, asked, reading.BatteryV, "nothing else is worth taking")
	assert.Contains(t, asked, reading.ArrayV)
	assert.NotContains(t, asked, reading.PostV)
}

// goodAnswer is what lets go on.
func goodAnswer(p visiting.Prompt) string {
	switch s := p.Step; {
	case s.Kind == procedure.Say:
		return ""
	case s.Reading == reading.Sky:
		return "clear" // in the dark nobody is sent to the array
	case len(s.Checks) > 0:
		return "1 2 3 4 5 6"[:2*len(s.Checks)-1]
	case s.Kind == procedure.Confirm, s.Kind == procedure.Act && len(s.Choices) > 0:
		return "1"
	case s.Kind == procedure.Act:
		return "done"
	case s.Kind == procedure.Choose && s.ID != "loads-on":
		return "none"
	}
	switch p.Step.Kind {
	case procedure.Choose:
		return "all"
	}
	switch p.Spec.Form {
	case reading.Word:
		return "1"
	case reading.List:
		if p.Step.Reading == reading.Gravity {
			return "1.25 1.25 1.25 1.25 1.25 1.25"
		}
		return "12.6"
	}
	return map[string]string{"V": "12.6", "A": "0", "W/m2": "500", "C": "25", "min": "60"}[p.Spec.Unit]
}

// Whatever a person does, the visit ends, and the journal alone gives back the
// same visit.
func TestAnyVisitEndsAndResumes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, m := newVisit(t)
		bits := map[reading.Key]float64{}
		for _, s := range reading.Specs {
			bits[s.Key] = rapid.Float64Range(0, 1).Draw(t, "bits")
		}
		const most = 300
		n := 0
		for ; n < most; n++ {
			v.Learn(v.Seq(), gains(bits))
			p := v.Prompt()
			if p.Done {
				break
			}
			a := visiting.Answer{Step: p.Step.ID, Reading: p.Step.Reading, Reason: "so", At: start.Add(time.Duration(n) * time.Minute)}
			switch rapid.IntRange(0, 9).Draw(t, "does") {
			case 0:
				a.Kind = visiting.Cannot
			case 1:
				a.Kind, a.Reading = visiting.Note, ""
			case 2:
				if rapid.IntRange(0, 5).Draw(t, "stop") == 0 {
					a.Kind, a.Reading = visiting.Stop, ""
					break
				}
				fallthrough
			case 3:
				if all := v.Answers(); len(all) > 0 && n < most/2 {
					again, ok := v.PromptFor(rapid.SampledFrom(all).Draw(t, "again").Step)
					require.True(t, ok)
					p = again
				}
				fallthrough
			default:
				typed := goodAnswer(p)
				if p.Step.Kind == procedure.Confirm && rapid.IntRange(0, 9).Draw(t, "bad") == 0 {
					typed = fmt.Sprint(max(1, len(p.Step.Choices)))
					if len(p.Step.Checks) > 0 {
						typed = goodAnswer(p)
					}
				}
				var err error
				a, err = v.ReadAnyway(p, typed)
				require.NoError(t, err)
				a.At = start.Add(time.Duration(n) * time.Minute)
			}
			require.NoError(t, v.Give(a))
			for _, s := range reading.Specs { // taken or tried: nothing more to learn
				if got := v.Input().Readings; got.Has(s.Key) || slices.Contains(got.NotTaken, s.Key) {
					delete(bits, s.Key)
				}
			}
		}
		require.Less(t, n, most, "the visit does not end")

		entries := m.entries(t)
		last := entries[len(entries)-1]
		if last.Answer == nil || last.Answer.Kind != visiting.Note {
			require.NotNil(t, last.End, "a visit that is done says so: %s", m.lines[len(m.lines)-1])
		}
		again, err := visiting.Resume(entries, nil)
		require.NoError(t, err)
		again.Learn(again.Seq(), gains(bits))
		require.True(t, again.Done())
		require.Equal(t, asJSON(t, v.Answers()), asJSON(t, again.Answers()))
		require.Equal(t, v.Seq(), again.Seq())
		require.Equal(t, v.Input().Readings.Numbers, again.Input().Readings.Numbers)
		require.Equal(t, v.State().Stopped, again.State().Stopped)
	})
}

func asJSON(t require.TestingT, x any) string {
	text, err := json.Marshal(x)
	require.NoError(t, err)
	return string(text)
}

func TestResumeNeedsAHead(t *testing.T) {
	_, err := visiting.Resume(nil, nil)
	require.ErrorIs(t, err, visiting.ErrNoHead)
	_, err = visiting.Resume([]visiting.Entry{{Answer: &visiting.Answer{}}}, nil)
	require.ErrorIs(t, err, visiting.ErrNoHead)
}

func TestBadSite(t *testing.T) {
	m := &memory{}
	_, err := visiting.New(visiting.Head{ID: "x", SiteName: "x", SiteTOML: "name = 3", StartedAt: start}, m)
	require.Error(t, err)
	assert.Empty(t, m.lines, "nothing is begun")
}
