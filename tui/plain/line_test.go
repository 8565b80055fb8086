package plain_test

import (
	"errors"
	"io"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/plain"
)

type journal struct {
	fails bool
	full  func(visiting.Entry) bool // whether there is no room for it; nil: there always is
}

var errFull = errors.New("disk full")

func (j *journal) Append(e visiting.Entry) error {
	if j.fails || j.full != nil && j.full(e) {
		return errFull
	}
	return nil
}

// infer is a belief that the sky decides, and that nothing more is worth taking.
func infer(in belief.Input) (*belief.Result, error) {
	r := &belief.Result{
		Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.6}, {ID: condition.ArrayOpen, P: 0.3}},
		State:      belief.State{Daylight: 0.97, Charging: 0.5, ChargeLevel: belief.Interval{Mean: 0.5, P05: 0.2, P95: 0.8}},
	}
	if in.Readings.Words[reading.Sky] == "clear" {
		r.Conditions[0].P, r.Conditions[1].P = 0.2, 0.7
		r.Conditions[0], r.Conditions[1] = r.Conditions[1], r.Conditions[0]
		r.Evidence = []belief.Evidence{{Reading: reading.Sky, ForLeader: 1.2}}
	}
	if !in.Readings.Has(reading.Irradiance) && in.Readings.Words[reading.Glass] != "" && len(in.Readings.NotTaken) == 0 {
		r.Gains = []belief.Gain{{Reading: reading.Irradiance, Bits: 1}}
		r.Expect = map[reading.Key]belief.Range{reading.Irradiance: {Lo: 600, Hi: 900}}
	}
	if in.Readings.Numbers[reading.Irradiance] == mistyped {
		r.Suspects = []belief.Suspect{{Reading: reading.Irradiance, P: 0.9}}
		r.Expect = map[reading.Key]belief.Range{reading.Irradiance: {Lo: 600, Hi: 900}}
	}
	return r, nil
}

const mistyped = 75 // for 750 W/m2

type run struct {
	visit *visiting.Visit
	out   string
	done  bool
	err   error
}

// lead leads a visit to the demo site with the lines as input.
func lead(t *testing.T, lines ...string) run {
	t.Helper()
	now := time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC)
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: now}, &journal{})
	require.NoError(t, err)
	var out strings.Builder
	done, err := plain.Run(plain.Options{
		Visit: v, Infer: infer, Now: func() time.Time { return now },
		Summary: func() string { return "THE SUMMARY\n" },
		In:      strings.NewReader(strings.Join(lines, "\n") + "\n"), Out: &out,
	})
	for _, l := range strings.Split(out.String(), "\n") {
		require.LessOrEqual(t, ansi.StringWidth(l), 80)
	}
	return run{v, out.String(), done, err}
}

var before = []string{"1", "1 2", "1", "1 2", "1 2 3", "1", "none", "none", "1", "1"} // touching nothing

func after(lines ...string) []string { return append(append([]string{}, before...), lines...) }

func answers(v *visiting.Visit) map[string]string {
	list := map[string]string{}
	for _, a := range v.Answers() {
		list[a.Step] = a.Text()
	}
	return list
}

func TestToTheEnd(t *testing.T) {
	r := lead(t, after("clear", "1", "cl", "none", "none", "1", "lit", "2", "lit", "1 3", "none", "750", "cannot not today", "cannot not today", "cannot not today", "cannot not today", "1", "none", "1", "1", "1", "A. Mechanic, Friday", "B. Helper, Monday", "1")...)
	require.NoError(t, r.err)
	require.True(t, r.done, r.out)
	assert.True(t, strings.HasSuffix(r.out, "\nTHE SUMMARY\n"))
	got := answers(r.visit)
	assert.Equal(t, "two bars", got["lamps.battery lamp"])
	assert.Equal(t, "ward lamps, radio", got["loads-on"])
	assert.Equal(t, "green or white crust", got["terminals-look"])
	assert.Equal(t, "the floor where I stand is dry; my hands and shoes are dry", got["dry"])
	assert.Equal(t, "750 W/m2", got["irradiance_w_m2"])
	assert.Equal(t, "A. Mechanic, Friday", got["open-work"])
	assert.Contains(t, r.out, "Expected: 600 to 900 W/m2")
	assert.Equal(t, len(got), strings.Count(r.out, "\nTaken: "))
}

// After an answer the leading conditions are told with their change.
func TestSaysWhatTheAnswerDid(t *testing.T) {
	seen := after("clear", "1", "cl", "none", "none", "1", "lit", "2", "lit", "1 3", "none")
	r := lead(t, seen...)
	assert.NotContains(t, r.out, "Everything works as designed", "before anything is measured it would be what is common")
	assert.NotContains(t, r.out, "Now: ")
	r = lead(t, append(seen, "750")...)
	assert.Contains(t, r.out, "1. The array circuit is open: likely, 70 %")
	assert.Contains(t, r.out, "Now: light on the array; not clear if charge arrives")
}

func TestEndOfInputKeeps(t *testing.T) {
	r := lead(t, after("clear")...)
	require.NoError(t, r.err)
	assert.False(t, r.done)
	assert.Len(t, r.visit.Answers(), 11)
}

// What no person typed is left out, and the visit goes on.
func TestLineTooLong(t *testing.T) {
	for _, n := range []int{64<<10 - 1, 64 << 10, 200 << 10, 1 << 20} {
		r := lead(t, after(strings.Repeat("x", n), "clear")...)
		require.NoError(t, r.err)
		assert.Len(t, r.visit.Answers(), 11, n)
		assert.Contains(t, strings.ReplaceAll(r.out, "\n", " "), "Problem: ", n)
	}
	r := lead(t, after("note "+strings.Repeat("x", 60<<10), "clear")...)
	assert.Contains(t, r.out, "Noted.")
}

func TestLeave(t *testing.T) {
	r := lead(t, after("clear", "leave", "none")...)
	require.NoError(t, r.err)
	assert.False(t, r.done)
	assert.Len(t, r.visit.Answers(), 11, "nothing is read after leave")
}

func TestBackChangesAnEarlierAnswer(t *testing.T) {
	tests := []struct {
		name  string
		typed []string
	}{
		{"one step", []string{"clear", "none", "back", "full"}},
		{"two steps and forward", []string{"clear", "none", "back", "back", "hazy", "back", "2", "back 11", "clear", "back 12", "3"}},
		{"by number", []string{"clear", "none", "clean", "back 12", "full"}},
		{"next leaves it", []string{"clear", "full", "back", "next", "clean"}},
		{"a bad answer asks again", []string{"clear", "none", "back", "moon", "full"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := lead(t, after(tt.typed...)...)
			require.NoError(t, r.err)
			got := answers(r.visit)
			assert.Equal(t, "clear", got["sky"], r.out)
			assert.Equal(t, "full", got["shade"], r.out)
			assert.Contains(t, r.out, "Answer now: ")
		})
	}
	t.Run("before the first", func(t *testing.T) {
		r := lead(t, "back", "1")
		assert.Contains(t, r.out, "Problem: this is the first question.")
		assert.Len(t, r.visit.Answers(), 1)
	})
	t.Run("no such number", func(t *testing.T) {
		r := lead(t, "1", "back 9", "back x", "1 2")
		assert.Contains(t, r.out, `no answer has the number "9"`)
		assert.Contains(t, r.out, `no answer has the number "x"`)
		assert.Len(t, r.visit.Answers(), 2)
	})
}

func TestCannot(t *testing.T) {
	r := lead(t, after("cannot", "cannot 1", "cannot behind a locked gate")...)
	require.NoError(t, r.err)
	got := answers(r.visit)
	assert.Equal(t, "not taken: cannot see it from the ground", got["sky"])
	assert.Equal(t, "not taken: behind a locked gate", got["shade"])
	assert.Equal(t, []reading.Key{reading.Sky, reading.Shade}, r.visit.Input().Readings.NotTaken)
	assert.Contains(t, r.out, "  1. cannot see it from the ground\n")
}

func TestNoteAndHistory(t *testing.T) {
	r := lead(t, after("note thin haze\x1b[2J", "note", "clear", "history")...)
	require.NoError(t, r.err)
	require.Len(t, r.visit.Notes(), 1)
	assert.Equal(t, "thin haze", r.visit.Notes()[0].Reason)
	assert.Equal(t, "sky", r.visit.Notes()[0].Step)
	assert.Contains(t, r.out, "  11. Sky: clear\n")
	assert.Contains(t, r.out, "  Note on Sky: thin haze\n")
	assert.NotContains(t, r.out, "\x1b")
}

func TestWhyAndHelp(t *testing.T) {
	r := lead(t, after("clear", "1", "cl", "none", "none", "1", "lit", "2", "lit", "1 3", "none", "750", "why", "help", "?")...)
	require.NoError(t, r.err)
	assert.Contains(t, r.out, "There is light on the array (almost certain, 97 %).")
	assert.Contains(t, r.out, `- Sky: clear. This speaks clearly for "The array circuit is open"`)
	assert.Equal(t, 2, strings.Count(r.out, "  cannot: this step cannot be done"))
}

func TestDoubt(t *testing.T) {
	upTo := after("clear", "none", "clean", "none", "none", "none", "lit", "2", "lit", "none", "none")
	with := func(lines ...string) run { return lead(t, append(append([]string{}, upTo...), lines...)...) }

	r := with("1900", "yes")
	assert.Contains(t, r.out, "Please check: ")
	assert.Equal(t, "1900 W/m2 (doubtful)", answers(r.visit)["irradiance_w_m2"])

	r = with("1900", "1900")
	assert.Equal(t, "1900 W/m2 (doubtful)", answers(r.visit)["irradiance_w_m2"])

	r = with("1900", "190")
	assert.Equal(t, "190 W/m2", answers(r.visit)["irradiance_w_m2"])

	r = with("1900", "why", "yes")
	assert.NotContains(t, answers(r.visit), "irradiance_w_m2", "yes belongs to a doubt just asked")

	r = with("1900")
	assert.NotContains(t, answers(r.visit), "irradiance_w_m2", "the end of input confirms nothing")
}

func TestStopLeadsToTheEnd(t *testing.T) {
	r := lead(t, after("stop", "stop it smells burnt", "1", "1", "1", "1", "", "1")...)
	require.NoError(t, r.err)
	assert.True(t, r.done, r.out)
	assert.Equal(t, "it smells burnt", r.visit.State().Stopped)
}

func TestBadAnswersSayWhatIsExpected(t *testing.T) {
	r := lead(t, "", "perhaps", "1")
	assert.Equal(t, 2, strings.Count(r.out, "Problem: "))
	assert.Len(t, r.visit.Answers(), 1)
}

// Whatever bytes come in, nothing that acts on a terminal goes out.
func TestControlCharactersDoNothing(t *testing.T) {
	r := lead(t, after("\x1b]0;title\x07\x1b[31mcle\x08ar\x00\u009b", "\u202enone", strings.Repeat("x", 5000))...)
	require.NoError(t, r.err)
	assert.Equal(t, "clear", answers(r.visit)["sky"])
	assert.Equal(t, "none", answers(r.visit)["shade"])
	for _, c := range r.out {
		require.True(t, c == '\n' || c >= ' ' && c != 0x7f && (c < 0x80 || c >= 0xa0) && c != '\u202e', "%q", c)
	}
}

func TestFailures(t *testing.T) {
	now := time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC)
	opt := func() (plain.Options, *journal) {
		j := &journal{}
		v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: now}, j)
		require.NoError(t, err)
		return plain.Options{Visit: v, Infer: infer, Now: func() time.Time { return now }, In: strings.NewReader("1\n1 2\n"), Out: &strings.Builder{}}, j
	}
	t.Run("an answer that cannot be kept ends it", func(t *testing.T) {
		o, j := opt()
		j.fails = true
		_, err := plain.Run(o)
		require.ErrorIs(t, err, errFull)
		assert.NotContains(t, o.Out.(*strings.Builder).String(), "Taken")
	})
	t.Run("what cannot be kept is tried again", func(t *testing.T) {
		o, j := opt()
		tries := 0
		j.full = func(visiting.Entry) bool { tries++; return tries <= 3 }
		o.In = strings.NewReader("1\n1 2\nhistory\n\n\n\n1 2\n") // "1 2" comes too early: it is the answer to the next step
		_, err := plain.Run(o)
		require.NoError(t, err)
		out := strings.Join(strings.Fields(o.Out.(*strings.Builder).String()), " ")
		assert.Equal(t, 4, strings.Count(out, "Problem: the answer could not be saved: disk full. Nothing is lost. If the disk is full, free some room on it."))
		assert.Contains(t, out, "Nothing is answered yet.")
		var given []string
		for _, a := range o.Visit.Answers() {
			given = append(given, a.Step+" "+a.Typed)
		}
		assert.Equal(t, []string{"permission 1", "people 1 2"}, given)
	})
	t.Run("the end of a visit that cannot be kept is tried again", func(t *testing.T) {
		o, j := opt()
		o.Summary = func() string { return "VISIT SUMMARY" }
		full := true
		j.full = func(e visiting.Entry) bool { return full && e.End != nil }
		o.In = io.MultiReader(strings.NewReader("stop it smells burnt\n1\n1\n1\n1\n\n1\n"), readerOf(func() { full = false }), strings.NewReader("\n"))
		done, err := plain.Run(o)
		require.NoError(t, err)
		assert.True(t, done)
		before, after, found := strings.Cut(o.Out.(*strings.Builder).String(), "the end of the visit could not be saved")
		require.True(t, found)
		assert.NotContains(t, before, "VISIT SUMMARY")
		assert.Contains(t, after, "VISIT SUMMARY")
	})
	t.Run("nobody is held by a full disk", func(t *testing.T) {
		o, j := opt()
		require.NoError(t, o.Visit.Give(visiting.Answer{Step: "array-isolate", Kind: visiting.Did, Word: "done", At: now}))
		j.fails = true
		o.In = strings.NewReader("leave the owner\nleave the owner\n1\n")
		_, err := plain.Run(o)
		require.ErrorIs(t, err, errFull)
		out := o.Out.(*strings.Builder).String()
		assert.Equal(t, 2, strings.Count(out, "could not be saved"), out)
	})
	t.Run("input that breaks", func(t *testing.T) {
		o, _ := opt()
		o.In = iotest.ErrReader(errFull)
		_, err := plain.Run(o)
		require.ErrorIs(t, err, errFull)
	})
	t.Run("output that breaks", func(t *testing.T) {
		o, _ := opt()
		o.Out = brokenWriter{}
		_, err := plain.Run(o)
		require.ErrorIs(t, err, errFull)
		assert.Empty(t, o.Visit.Answers(), "nobody saw the question")
	})
	t.Run("a belief that fails does not end the visit", func(t *testing.T) {
		o, _ := opt()
		o.Infer = func(belief.Input) (*belief.Result, error) { return nil, errFull }
		_, err := plain.Run(o)
		require.NoError(t, err)
		assert.Len(t, o.Visit.Answers(), 2)
	})
}

// readerOf is an empty input that does something once it is reached.
type readerOf func()

func (r readerOf) Read([]byte) (int, error) {
	r()
	return 0, io.EOF
}

type brokenWriter struct{}

func (brokenWriter) Write([]byte) (int, error) { return 0, errFull }
