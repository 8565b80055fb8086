package siteform

import (
	"bytes"
	"encoding/csv"
	"errors"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

// A kept is a file that a talk writes to.
type kept struct {
	text  []byte
	times int
	fails error
}

func (k *kept) keep(text []byte) error {
	if k.fails != nil {
		return k.fails
	}
	k.text, k.times = bytes.Clone(text), k.times+1
	return nil
}

func talkOfNew(t testing.TB) (*Talk, *kept) {
	t.Helper()
	d, err := New("Quarry Bend store")
	require.NoError(t, err)
	k := &kept{}
	return NewTalk(d, k.keep), k
}

func talkOfDemo(t testing.TB, path string) (*Talk, *kept) {
	t.Helper()
	k := &kept{}
	talk := NewTalk(demo(t), k.keep)
	require.True(t, talk.Go(path))
	return talk, k
}

// A new site is described in twelve questions, its name among them; a visit can begin.
func TestTwelveQuestions(t *testing.T) {
	talk, k := talkOfNew(t)
	require.True(t, talk.Brief())
	require.Len(t, talk.Questions(), 12)
	require.Equal(t, "nominal_v", talk.Question().Path, "the name is known")
	asked := 1
	for _, typed := range []string{
		"24", "agm", "120 Ah", "250 W", "37,5 V", "1 2", "mppt", "no", "battery loads", "ward lamps 18 W 5 h; radio 6 6", "12.6 S 34.1 E",
	} {
		require.False(t, talk.Over())
		q, before := talk.Question(), k.times
		require.NoError(t, talk.Answer(typed), q.Path)
		require.Greater(t, k.times, before, "%s is in the file before the next question", q.Path)
		asked++
	}
	require.True(t, talk.Over())
	assert.Equal(t, 12, asked)
	assert.False(t, talk.Brief(), "every answer can be looked at now")
	assert.Empty(t, talk.Left())
	s, err := site.Parse("x", k.text)
	require.NoError(t, err, "%s", k.text)
	assert.Equal(t, 1, s.Array.Series)
	assert.Equal(t, 2, s.Array.Strings)
	assert.Equal(t, 60, s.Array.Module.Cells, "250 W and 37.5 V: 60 cells, as in the module table")
	assert.InDelta(t, 250, s.Array.Module.VmpV*s.Array.Module.ImpA, 2)
	assert.Zero(t, s.Array.FuseA, "none was seen")
	assert.Positive(t, s.Battery.FuseA)
	assert.Positive(t, s.LoadWiring.FuseA)
	require.Len(t, s.Loads, 2)
	assert.Equal(t, site.Load{Label: "radio", PowerW: 6, HoursPerDay: 6, Priority: 2}, s.Loads[1])
	assert.InDelta(t, -12.6, s.Place.LatitudeDeg, 1e-9)
	assert.Greater(t, len(talk.Draft().AssumedAnswers()), 20)
	assert.Contains(t, string(k.text), "assumed", "what is usual is marked")

	require.NoError(t, talk.Undo(), "what was assumed at the end is one change")
	assert.NotEmpty(t, talk.Draft().Left())
}

// Only what nobody can assume must be known: the voltage, the kind of battery, the place.
func TestAlmostNothingIsKnown(t *testing.T) {
	talk, k := talkOfNew(t)
	for _, typed := range []string{"12", "agm", "", "", "", "", "", "", "0", "0", "-12.6 34.1"} {
		require.NoError(t, talk.Answer(typed), talk.Question().Path)
	}
	require.True(t, talk.Over())
	s, err := site.Parse("x", k.text)
	require.NoError(t, err)
	assert.InDelta(t, 60, s.Doubts["battery.capacity_ah"], 0.1, "what is not known widens what is believed")
	assert.Positive(t, s.Doubts["array.module.imp_a"])
	assert.Empty(t, s.Loads)
	assert.Zero(t, s.Battery.FuseA)
	require.NoError(t, talk.Details())
	assert.True(t, talk.Draft().Assumed(talk.Question()), "to the first that nobody has read")
	require.NoError(t, talk.Answer("200"))
	assert.False(t, talk.Brief())
}

func TestWhatIsLeftOpen(t *testing.T) {
	talk, _ := talkOfNew(t)
	require.Equal(t, LeftOpen, talk.Empty(), "nothing is usual for a voltage")
	require.NoError(t, talk.Answer(""))
	require.Equal(t, Heard{Said: LeftOpen, On: talk.Questions()[1]}, talk.Last())
	for !talk.Over() {
		talk.Next()
	}
	assert.NotEmpty(t, talk.Left())
	assert.True(t, talk.Brief(), "nothing is assumed before the rest is known")
	assert.Nil(t, talk.Draft().Site())
	require.NoError(t, talk.Back(), "to the last question")
	assert.False(t, talk.Over())
	for range len(talk.Questions()) - 1 {
		require.NoError(t, talk.Back())
	}
	require.Error(t, talk.Back(), "the first")
}

func TestSeveralKeysInOneLine(t *testing.T) {
	d, err := New("x")
	require.NoError(t, err)
	find := func(path string) Question {
		list := d.First()
		return list[slices.IndexFunc(list, func(q Question) bool { return q.Path == path })]
	}
	for _, tt := range []struct{ path, typed, answer string }{
		{"modules", "2 x 3", "2 3"},
		{"modules", "2 3", "2 3"},
		{"where", "12.6S 34,1E", "-12.6 34.1"},
		{"where", "-12.6; -34.1", "-12.6 -34.1"},
		{"where", "33.9 N 18.4 w", "33.9 -18.4"},
		{"fuses", "1 3", "battery, loads"},
		{"loads", "pump 40 W 1,5 h", "pump 40 W 1.5 h"},
		{"loads", "2 lamps 18 5h; cold box 0.06 kW 10;", "2 lamps 18 W 5 h; cold box 60 W 10 h"},
	} {
		next, err := d.Put(find(tt.path), tt.typed)
		require.NoError(t, err, tt.typed)
		assert.Equal(t, tt.answer, next.Answer(find(tt.path)), tt.typed)
		assert.True(t, next.Given(find(tt.path)))
		again, err := next.Put(find(tt.path), tt.answer)
		require.NoError(t, err)
		assert.Equal(t, tt.answer, again.Answer(find(tt.path)), "an answer can be typed as it is shown")
		none, err := next.Clear(find(tt.path))
		require.NoError(t, err)
		assert.False(t, none.Given(find(tt.path)))
	}
	for _, tt := range []struct{ path, typed string }{
		{"modules", "2"}, {"modules", "1 2 3"}, {"modules", "two"}, {"modules", "1.5 2"}, {"where", "S"}, {"where", "here"},
		{"fuses", "roof"}, {"loads", "lamps"}, {"loads", "lamps 18"}, {"loads", "18 5"}, {"loads", ";"}, {"loads", "lamps 5 h 18 W"},
	} {
		next, err := d.Put(find(tt.path), tt.typed)
		require.Error(t, err, tt.typed)
		assert.Equal(t, d.Bytes(), next.Bytes())
	}
	// What is out of range is told as it is of one key, and belongs to the line.
	would, err := d.Would(find("where"), "98 34")
	require.NoError(t, err)
	assert.NotEmpty(t, would)
	next, err := demo(t).Put(find("loads"), "radio 6 W 30 h; ward lamps 20 W 5 h")
	require.NoError(t, err)
	assert.Len(t, next.Wrong(find("loads")), 1)
	priority, _ := next.text.Number("load.1.priority")
	assert.InDelta(t, 1, priority, 0, "the lamps keep theirs")
}

func TestDoubtUndoRemove(t *testing.T) {
	talk, k := talkOfDemo(t, "array.module.imp_a")
	understood, against, err := talk.Check("3.1")
	require.NoError(t, err)
	assert.Equal(t, "3.1 A", understood)
	assert.NotEmpty(t, against)
	require.ErrorIs(t, talk.Answer("3.1"), ErrDoubt)
	assert.NotEmpty(t, talk.Doubt())
	require.ErrorIs(t, talk.Answer("3.2"), ErrDoubt, "another value is doubted too")
	require.Zero(t, k.times)
	require.NoError(t, talk.Answer("3.2"))
	assert.Equal(t, "array.module.voc_v", talk.Question().Path)
	assert.NotEmpty(t, talk.Draft().AllWrong())
	require.NoError(t, talk.Undo())
	assert.Equal(t, string(site.DemoTOML()), string(k.text))
	require.Error(t, talk.Undo())
	require.Equal(t, "array.module.imp_a", talk.Question().Path, "where the change was")

	require.NoError(t, talk.Assume())
	require.NoError(t, talk.Back())
	require.NoError(t, talk.Checked())
	require.NoError(t, talk.Back())
	require.Error(t, talk.Checked())
	require.NoError(t, talk.Clear())
	assert.Len(t, talk.Left(), 1)

	require.NoError(t, talk.GoNumber("1"))
	require.Error(t, talk.Remove())
	require.Error(t, talk.GoNumber("0"))
	require.Error(t, talk.GoNumber("x"))
	require.Error(t, talk.Details(), "all are asked")

	talk, k = talkOfDemo(t, "load")
	require.Equal(t, NoMore, talk.Empty())
	require.Error(t, talk.Answer("perhaps"))
	require.NoError(t, talk.Answer("yes"))
	require.Equal(t, "load.3.label", talk.Question().Path)
	require.NoError(t, talk.Remove())
	assert.Equal(t, string(site.DemoTOML()), string(k.text))
	require.True(t, talk.Go("load"))
	require.NoError(t, talk.Answer("0"))
	assert.Equal(t, "inverter.from", talk.Question().Path)
	require.True(t, talk.Go("load_wiring.fuse_a"))
	require.NoError(t, talk.Answer("0"), "none")
	assert.Equal(t, None, talk.Last().Said)
	assert.Zero(t, talk.Draft().Site().LoadWiring.FuseA)
	require.NoError(t, talk.Undo())
	require.NoError(t, talk.Assume(), "there is one that cannot be read")
	assert.Positive(t, talk.Draft().Site().LoadWiring.FuseA)
}

func TestAYearIsEnough(t *testing.T) {
	talk, k := talkOfDemo(t, "battery.installed")
	require.NoError(t, talk.Answer("2021"))
	assert.Contains(t, string(k.text), `installed = "2021-07"  # assumed, give or take 6 months`)
	require.NoError(t, talk.Back())
	require.NoError(t, talk.Answer("2021-03"))
	assert.NotContains(t, string(k.text), "assumed")
	assert.Equal(t, "2021-03", talk.Draft().Site().Battery.Installed)
}

func TestNothingIsLostWithoutAFile(t *testing.T) {
	talk, k := talkOfDemo(t, "array.fuse_a")
	k.fails = errors.New("disk full")
	require.ErrorIs(t, talk.Answer("15"), k.fails)
	assert.Equal(t, "array.fuse_a", talk.Question().Path)
	assert.Equal(t, "10", talk.Draft().Answer(talk.Question()))
	k.fails = nil
	require.NoError(t, talk.Answer("15"))
}

// The cells assumed for a module of some power are those that most such modules of an
// open table have.
func TestCellsByPower(t *testing.T) {
	f, err := os.Open("../../physics/plant/testdata/cec_modules.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	number := func(row []string, name string) float64 {
		v, err := strconv.ParseFloat(row[slices.Index(rows[0], name)], 64)
		require.NoError(t, err)
		return v
	}
	for _, power := range []struct{ from, to, at float64 }{{0, 200, 80}, {200, 300, 250}, {300, 1e4, 350}} {
		count, most := map[int]int{}, 0
		for _, row := range rows[1:] {
			if p := number(row, "V_mp_ref") * number(row, "I_mp_ref"); p >= power.from && p < power.to {
				n := int(number(row, "N_s"))
				if count[n]++; count[n] > count[most] {
					most = n
				}
			}
		}
		d, err := New("x")
		require.NoError(t, err)
		d = put(t, d, "array.module.pmp_w", strconv.FormatFloat(power.at, 'f', -1, 64))
		typical, ok := d.Typical(question(t, d, "array.module.cells"))
		require.True(t, ok)
		assert.Equal(t, strconv.Itoa(most), typical.Text)
	}
}

func BenchmarkShowAQuestion(b *testing.B) {
	talk, _ := talkOfNew(b)
	require.NoError(b, talk.Answer("12"))
	for b.Loop() {
		talk.show()
	}
}

// The parts that only some sites have are asked for once it is said that they are there,
// and what was answered can be read as a site.
func TestPartsThatSomeSitesHave(t *testing.T) {
	talk, k := talkOfDemo(t, "inverter.from")
	paths := func() (list []string) {
		for _, q := range talk.Questions() {
			list = append(list, q.Path)
		}
		return list
	}
	assert.NotContains(t, paths(), "inverter.rated_w")
	require.NoError(t, talk.Answer("battery"))
	assert.Equal(t, "inverter.rated_w", talk.Question().Path)
	for _, answer := range []string{"300", "6", "0.88"} {
		require.NoError(t, talk.Answer(answer))
	}
	for _, path := range []string{"inverter.cut_v", "inverter.restore_v", "inverter.cable_m", "inverter.cable_mm2"} {
		require.True(t, talk.Go(path))
		require.NoError(t, talk.Assume(), path)
	}
	for _, x := range []struct{ path, answer string }{
		{"charger.rated_a", "20"}, {"charger.absorb_v", "14.4"}, {"charger.float_v", "13.6"}, {"earthing.pole", "minus"},
		{"battery.strings", "2"}, {"battery.equalise_v", "15.2"}, {"battery.equalise_days", "28"},
		{"load.0.from", "inverter"}, {"load.1.kind", "cycling"}, {"load.1.used", "day"},
	} {
		require.True(t, talk.Go(x.path), x.path)
		require.NoError(t, talk.Answer(x.answer), x.path)
	}
	s, err := site.Parse("x", k.text)
	require.NoError(t, err, "%s", k.text)
	assert.Equal(t, &site.Inverter{RatedW: 300, IdleW: 6, Efficiency: 0.88, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, CableM: 1.5, CableMM2: 16}, s.Inverter)
	assert.Equal(t, &site.Charger{RatedA: 20, AbsorbV: 14.4, FloatV: 13.6}, s.Charger)
	assert.Equal(t, site.PoleMinus, s.Earthing)
	assert.Equal(t, 2, s.Battery.Parallel())
	assert.InDelta(t, 15.2, s.Battery.EqualiseV, 1e-9)
	assert.Equal(t, 28, s.Battery.EqualiseDays)
	assert.Equal(t, site.FromInverter, s.Loads[0].From)
	assert.Equal(t, site.Cycling, s.Loads[1].Kind)
	assert.Equal(t, site.ByDay, s.Loads[1].Used)
}

// What else there is, is marked with the fuses: each part then has its first question among
// the twelve, and the rest of it in the details. A closed kit is never asked for its inside.
func TestPartsAndKits(t *testing.T) {
	talk, k := talkOfNew(t)
	for _, typed := range []string{"24", "flooded", "400", "250", "37.5", "1 2", "series", "yes", "battery, inverter, charger, strings", "500", "30", "2", "ward lamps 40 W 5 h; microscope 60 W 3 h", "-12.6 34.1"} {
		require.NoError(t, talk.Answer(typed), talk.Question().Path)
	}
	require.True(t, talk.Over())
	require.Empty(t, talk.Left())
	s, err := site.Parse("x", k.text)
	require.NoError(t, err, "%s", k.text)
	assert.InDelta(t, 500, s.Inverter.RatedW, 0)
	assert.Equal(t, site.FromBattery, s.Inverter.From)
	assert.InDelta(t, 30, s.Charger.RatedA, 0)
	assert.Equal(t, 2, s.Battery.Parallel())
	assert.Nil(t, s.Kit)

	talk, k = talkOfNew(t)
	for _, typed := range []string{"3", "lfp", "6", "6", "7.4", "1 1", "mppt", "yes", "kit", "2", "lamps 3 W 4 h; phone 5 W 2 h", "-12.6 34.1"} {
		require.NoError(t, talk.Answer(typed), talk.Question().Path)
	}
	require.True(t, talk.Over())
	require.Empty(t, talk.Left())
	s, err = site.Parse("x", k.text)
	require.NoError(t, err, "%s", k.text)
	assert.Equal(t, site.Kit{USB: 2}, *s.Kit)
	assert.Equal(t, 1, s.Battery.Cells())
	for _, q := range talk.Questions() {
		for _, inside := range []string{"battery.fuse_a", "battery.cable_m", "load_wiring.cable_m", "inverter.from", "charger.rated_a", "earthing.pole", "battery.strings"} {
			assert.NotEqual(t, inside, q.Path)
		}
	}
}
