package summary

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// evil are texts that would act if anything let them.
var evil = []string{
	"\x1b]0;owned\x07\x1b[2J\x1b[31m", `</style></svg><script>alert(1)</script><img src=x onerror="alert(1)">`,
	"../../../../etc/passwd", "\u202eevil\u2066\u2069\u200f", "\x00\x08\x7f\u009b31m", "%s%n%!d(MISSING)", strings.Repeat("long", 800), "",
	") Tj ET Q /JavaScript (app.alert(1)) endobj", "{{.}}", "\ufeff\ufffe\U0010ffff",
}

// stranger draws a visit that a stranger could send: whole at first, then with
// anything in its fields.
func stranger(t *rapid.T) []visiting.Entry {
	text := rapid.OneOf(rapid.SampledFrom(evil), rapid.String())
	number := rapid.OneOf(rapid.SampledFrom([]float64{1e308, -1e308, 1e-308, 0, -5, 1e9}), rapid.Float64Range(-1e6, 1e6))
	v := visit(t, whole...)
	head := v.Head()
	toml := string(site.DemoTOML())
	if rapid.Bool().Draw(t, "names") { // what a site file may hold is read strictly
		toml = strings.ReplaceAll(toml, "ward lamps", "<b>lamps</b> & 'x'")
		toml = strings.ReplaceAll(toml, "Lantern Hill clinic", "<i>Hill</i> ](x) %s")
	}
	head.SiteTOML = toml
	if rapid.Bool().Draw(t, "head") {
		head.ID, head.Who, head.SiteName = text.Draw(t, "id"), text.Draw(t, "who"), text.Draw(t, "name")
		head.StartedAt = time.Unix(rapid.Int64Range(-6e10, 2e11).Draw(t, "time"), 0).UTC()
		head.Instruments = map[reading.Meter]quantity.Instrument{
			reading.Voltmeter: {Percent: number.Draw(t, "%"), Digits: number.Draw(t, "digits"), Resolution: number.Draw(t, "resolution")},
			reading.Clamp:     {PlusMinus: number.Draw(t, "±"), Name: text.Draw(t, "meter"), Calibrated: text.Draw(t, "day")},
			"none":            {},
		}
	}
	entries := []visiting.Entry{{Head: &head}}
	for _, a := range v.History() {
		if rapid.IntRange(0, 2).Draw(t, "change") == 0 {
			change(t, &a, text, number)
		}
		entries = append(entries, visiting.Entry{Answer: &a})
	}
	return entries
}

func change(t *rapid.T, a *visiting.Answer, text *rapid.Generator[string], number *rapid.Generator[float64]) {
	switch rapid.IntRange(0, 8).Draw(t, "field") {
	case 0:
		a.Step = text.Draw(t, "step")
	case 1:
		a.Kind = visiting.AnswerKind(text.Draw(t, "kind"))
	case 2:
		a.Reading = reading.Key(text.Draw(t, "reading"))
	case 3:
		a.Reading = rapid.SampledFrom(reading.Specs).Draw(t, "spec").Key
	case 4:
		x := number.Draw(t, "number")
		a.Number = &x
	case 5:
		a.List = rapid.SliceOfN(number, 0, 40).Draw(t, "list")
	case 6:
		a.Word = text.Draw(t, "word")
	case 7:
		a.Labels = rapid.SliceOfN(text, 0, 5).Draw(t, "labels")
		a.Chosen = rapid.SliceOfN(text, 0, 5).Draw(t, "chosen")
	case 8:
		a.Reason, a.Typed = text.Draw(t, "reason"), text.Draw(t, "typed")
		a.Kind = rapid.SampledFrom([]visiting.AnswerKind{visiting.Note, visiting.Cannot, visiting.Stop}).Draw(t, "kind")
	}
}

// Whatever a visit file says, nothing of it acts on a screen, in a browser or in
// a PDF.
func TestStrangersVisit(t *testing.T) {
	if testing.Short() {
		t.Skip("many pages take a while")
	}
	effort.Fewer(t, 15)
	rapid.Check(t, func(t *rapid.T) {
		v, err := visiting.Resume(stranger(t), nil)
		require.NoError(t, err)
		r := arrayOpen()
		r.Array = &belief.Curve{Volts: []float64{0, 10, 20}, Amps: []float64{5, 5, 0}, BestV: 10, BestA: 5}
		require.True(t, v.Learn(v.Seq(), r))
		for _, d := range []document.Document{ForStaff(v, beside()), ForCaretaker(v, beside())} {
			checkLines(t, d.Text())
			for _, text := range []string{d.Text(), d.HTML(document.A4)} {
				for _, c := range text {
					require.False(t, c < ' ' && c != '\n' && c != '\t' || c >= 0x7f && c < 0xa0 || c >= 0x202a && c <= 0x202e || c >= 0x2066 && c <= 0x2069, "%q", c)
				}
			}
			for _, tag := range []string{"<script", "<img", "<b>", "<i>H", "onerror=\""} {
				require.NotContains(t, d.HTML(document.A4), tag)
			}
			pdf, err := d.PDF(document.Letter)
			require.NoError(t, err)
			for _, act := range []string{"/JavaScript", "/JS ", "/Launch", "/URI", "/Filespec", "/AcroForm"} {
				require.False(t, strings.Contains(string(pdf), act), act)
			}
		}
	})
}

// The inference takes what is usable of it, and comes to finite figures.
func TestStrangersVisitIsBelieved(t *testing.T) {
	if testing.Short() {
		t.Skip("inferences take a while")
	}
	for seed := range effort.Of(0, 6, 12) {
		entries := rapid.Custom(stranger).Example(seed)
		v, err := visiting.Resume(entries, nil)
		require.NoError(t, err)
		r, err := belief.Infer(v.Input())
		require.NoError(t, err)
		total := r.Leader().P
		assert.True(t, total > 0 && total <= 1, "%v", total)
		assert.True(t, r.State.ChargeLevel.Mean >= 0 && r.State.ChargeLevel.Mean <= 1, "%v", r.State.ChargeLevel)
	}
}

func TestUsable(t *testing.T) {
	v := visit(t)
	x := func(f float64) *float64 { return &f }
	tests := []struct {
		name string
		a    visiting.Answer
		want bool
	}{
		{"as typed", visiting.Answer{Kind: visiting.Took, Reading: reading.BatteryV, Number: x(12.5)}, true},
		{"no instrument shows that", visiting.Answer{Kind: visiting.Took, Reading: reading.BatteryV, Number: x(1e6)}, false},
		{"no such reading", visiting.Answer{Kind: visiting.Took, Reading: "heat", Number: x(1)}, false},
		{"a number for a word", visiting.Answer{Kind: visiting.Took, Reading: reading.Sky, Number: x(1)}, false},
		{"a word that is none", visiting.Answer{Kind: visiting.Took, Reading: reading.Sky, Word: "green"}, false},
		{"a lamp's look", visiting.Answer{Kind: visiting.Took, Reading: reading.Lamp("array lamp"), Word: "lit"}, true},
		{"no look of that lamp", visiting.Answer{Kind: visiting.Took, Reading: reading.Lamp("array lamp"), Word: "blue"}, false},
		{"too few cells", visiting.Answer{Kind: visiting.Took, Reading: reading.Gravity, List: []float64{1.2}}, false},
		{"a note", visiting.Answer{Kind: visiting.Note, Reason: "x"}, true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) { assert.Equal(t, tt.want, v.Usable(tt.a)) })
	}
}

// What cannot be used is said, not hidden.
func TestUnusableIsSaid(t *testing.T) {
	v := visit(t, [2]string{"battery_v", "12.4"})
	head := v.Head()
	a := v.History()[0]
	huge := 1e300
	a.Number = &huge
	v, err := visiting.Resume([]visiting.Entry{{Head: &head}, {Answer: &a}}, nil)
	require.NoError(t, err)
	assert.Empty(t, v.Input().Readings.Numbers)
	assert.Contains(t, strings.Join(strings.Fields(OfVisit(v).Text()), " "), "No instrument at this site could show it; it was not used.")
}

// The belief is counted again after each reading, as it was given, corrections
// included; an inference each.
func TestRecount(t *testing.T) {
	v := visit(t, [2]string{"permission", "1"}, [2]string{"sky", "clear"}, [2]string{"array_a", "0"}, [2]string{"array_a", "0.5"}, [2]string{"battery_v", "cannot no reach"})
	var seen []int
	list, err := Recount(v, func(in belief.Input) (*belief.Result, error) {
		seen = append(seen, len(in.Readings.Words)+len(in.Readings.Numbers))
		return arrayOpen(), nil
	})
	require.NoError(t, err)
	assert.Equal(t, []int{1, 2, 2}, seen)
	require.Len(t, list, 3)
	require.True(t, v.Learn(v.Seq(), undecided()))
	again, err := Recount(v, func(belief.Input) (*belief.Result, error) { seen = append(seen, 0); return arrayOpen(), nil })
	require.NoError(t, err)
	assert.Len(t, seen, 3+2, "the visit's own belief is the last")
	assert.Equal(t, undecided().Conditions, again[2].Conditions)
	assert.Equal(t, "Sky", list[0].Step)
	assert.Equal(t, "Array current", list[2].Step)
	assert.InDelta(t, 0.94, list[2].of(arrayOpen().Leader()), 1e-12)
}

func TestTrendNamesWhatEachVisitFound(t *testing.T) {
	text := strings.Join(strings.Fields(ForStaff(ordinary(t), beside()).Text()), " ")
	assert.Contains(t, text, "2026-10-20: Everything works as designed, 91 %; battery about 62 % full, 12.90 V.")
	assert.Contains(t, text, "2026-11-20: The array circuit is open, 94 %; battery about 55 % full, 12.40 V.")
	assert.NotContains(t, text, "2026-01-20", "the last eight before it are enough")
}
