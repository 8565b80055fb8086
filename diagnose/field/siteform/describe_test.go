package siteform

import (
	"encoding/csv"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

func demo(t testing.TB) Draft {
	t.Helper()
	d, err := Open("demo", site.DemoTOML())
	require.NoError(t, err)
	require.NotNil(t, d.Site())
	return d
}

// question is the one of that path.
func question(t testing.TB, d Draft, path string) Question {
	t.Helper()
	list := d.Questions()
	i := slices.IndexFunc(list, func(q Question) bool { return q.Path == path })
	require.GreaterOrEqual(t, i, 0, path)
	return list[i]
}

// put answers questions: path and answer by turns.
func put(t testing.TB, d Draft, pairs ...string) Draft {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		next, err := d.Put(question(t, d, pairs[i]), pairs[i+1])
		require.NoError(t, err, pairs[i])
		d = next
	}
	return d
}

// A site described by the questions alone, with the answers that the example
// file gives, is the site of the example file.
func TestTheQuestionsDescribeASite(t *testing.T) {
	want := demo(t)
	d, err := New("x")
	require.NoError(t, err)
	require.Nil(t, d.Site())
	for i := 0; i < len(d.Questions()); i++ {
		q := d.Questions()[i]
		if q.Form == More {
			if d.text.Count(q.Path) < want.text.Count(q.Path) {
				d, err = d.Add(q)
				require.NoError(t, err)
				i-- // its first question stands there now
			}
			continue
		}
		if !want.Given(q) {
			continue
		}
		answer := want.Answer(q)
		require.NotEmpty(t, d.Questions()[i].Where, q.Path)
		assert.NotEmpty(t, q.Understood(answer), q.Path)
		d, err = d.Put(q, answer)
		require.NoError(t, err, q.Path)
		require.Equal(t, answer, d.Answer(q))
		assert.Empty(t, d.Wrong(q), q.Path)
		assert.Empty(t, d.Elsewhere(), q.Path)
	}
	assert.Equal(t, site.Demo(), d.Site(), "%s", d.Bytes())
	assert.Empty(t, d.Left())
	assert.Empty(t, d.AllWrong())
	assert.Empty(t, d.AssumedAnswers())
	keys := strings.Index(string(d.Bytes()), "voc_v =")
	assert.Less(t, strings.Index(string(d.Bytes()), "imp_a ="), keys, "keys in the order of the questions")
	assert.Greater(t, strings.Index(string(d.Bytes()), "isc_a ="), keys)
}

// Every key that the reader of site files knows has a question: those it misses
// in an empty file, and those of the example file.
func TestEveryKeyHasAQuestion(t *testing.T) {
	d, err := New("x")
	require.NoError(t, err)
	for _, path := range []string{"controller.lamp", "controller.lamp.0.look", "load"} {
		d, err = d.Add(question(t, d, path))
		require.NoError(t, err)
	}
	require.Greater(t, len(d.problems), 35)
	assert.Empty(t, d.Elsewhere())
	for _, p := range d.problems {
		assert.True(t, p.Missing, p)
	}
}

// Of a module's label only the voltage and current at maximum power, say, can be
// read: the rest is typical, marked so, and makes a good file.
func TestTypicalValuesMakeAGoodFile(t *testing.T) {
	d, err := New("x")
	require.NoError(t, err)
	d = put(t, d, "nominal_v", "24", "battery.chemistry", "lfp", "battery.capacity_ah", "100",
		"array.module.vmp_v", "18,0 V", "array.module.imp_a", "5560 mA", "array.strings", "2",
		"controller.kind", "mppt", "controller.load_output", "yes",
		"place.latitude_deg", "-12.6", "place.longitude_deg", "34.1")
	_, err = d.Assume(question(t, d, "nominal_v"))
	require.ErrorIs(t, err, ErrNoTypical)
	for _, q := range d.Left() {
		before := d
		d, err = d.Assume(q)
		require.NoError(t, err, q.Path)
		require.True(t, d.Assumed(q), q.Path)
		assert.NotEqual(t, before.Bytes(), d.Bytes())
	}
	s := d.Site()
	require.NotNil(t, s, d.problems)
	assert.Equal(t, 27, len(d.AssumedAnswers()))
	assert.Equal(t, 8, s.Battery.Cells(), "24 V at 3.2 V a cell")
	assert.Equal(t, 2, s.Array.Series, "two 36-cell modules make 24 V (common practice)")
	assert.Equal(t, 36, s.Array.Module.Cells)
	assert.InDelta(t, 100.1, s.Array.Module.PmpW, 0.01)
	assert.InDelta(t, 2, s.Place.UTCOffsetH, 0, "34.1 degrees east")
	assert.InDelta(t, 0, s.Place.BearingDeg, 0, "north in the south")
	assert.InDelta(t, 15, s.Place.TiltDeg, 0)
	assert.Contains(t, string(d.Bytes()), "voc_v = 22.1  # assumed, give or take 3 %; Open-circuit voltage, Voc\n")

	again, err := Open("again", d.Bytes())
	require.NoError(t, err)
	assert.Equal(t, 27, len(again.AssumedAnswers()), "the marks are in the file")
	read := put(t, again, "array.module.voc_v", "22.4")
	assert.Contains(t, string(read.Bytes()), "voc_v = 22.4  # Open-circuit voltage, Voc\n", "read off the label after all")
	assert.Equal(t, 26, len(read.AssumedAnswers()))
}

// What rests on an assumed figure is at least as doubtful.
func TestDoubtIsHandedOn(t *testing.T) {
	d, err := New("x")
	require.NoError(t, err)
	d = put(t, d, "array.module.pmp_w", "50", "array.module.cells", "36")
	for _, tt := range []struct{ path, want string }{
		{"array.module.vmp_v", "13 %"}, // of 36 cells
		{"array.module.imp_a", "13 %"}, // 50 W / Vmp
		{"array.module.isc_a", "14 %"}, // the square root of 13² + 4²
		{"array.module.voc_v", "13 %"}, // the square root of 13² + 3²
	} {
		typical, ok := d.Typical(question(t, d, tt.path))
		require.True(t, ok)
		assert.Equal(t, tt.want, typical.Spread, tt.path)
		d, err = d.Assume(question(t, d, tt.path))
		require.NoError(t, err)
	}
}

// The typical figures of modules, and how far nine in ten lie from them, against
// the crystalline silicon modules of an open table.
func TestTypicalModules(t *testing.T) {
	f, err := os.Open("../../physics/plant/testdata/cec_modules.csv")
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	column := func(row []string, name string) float64 {
		v, err := strconv.ParseFloat(row[slices.Index(rows[0], name)], 64)
		require.NoError(t, err)
		return v
	}
	tests := []struct {
		path   string
		known  []string // paths that the rule uses
		column []string // and where the table has them
		want   func(row []string) float64
	}{
		{"array.module.vmp_v", []string{"array.module.voc_v"}, []string{"V_oc_ref"}, func(r []string) float64 { return column(r, "V_mp_ref") }},
		{"array.module.vmp_v", []string{"array.module.cells"}, []string{"N_s"}, func(r []string) float64 { return column(r, "V_mp_ref") }},
		{"array.module.imp_a", []string{"array.module.isc_a"}, []string{"I_sc_ref"}, func(r []string) float64 { return column(r, "I_mp_ref") }},
		{"array.module.voc_v", []string{"array.module.vmp_v"}, []string{"V_mp_ref"}, func(r []string) float64 { return column(r, "V_oc_ref") }},
		{"array.module.voc_v", []string{"array.module.cells"}, []string{"N_s"}, func(r []string) float64 { return column(r, "V_oc_ref") }},
		{"array.module.isc_a", []string{"array.module.imp_a"}, []string{"I_mp_ref"}, func(r []string) float64 { return column(r, "I_sc_ref") }},
		{"array.module.isc_pct_per_c", nil, nil, func(r []string) float64 { return 100 * column(r, "alpha_sc") / column(r, "I_sc_ref") }},
		{"array.module.voc_pct_per_c", nil, nil, func(r []string) float64 { return 100 * column(r, "beta_oc") / column(r, "V_oc_ref") }},
		{"array.module.noct_c", nil, nil, func(r []string) float64 { return column(r, "T_NOCT") }},
	}
	for _, tt := range tests {
		t.Run(tt.path+strings.Join(tt.known, ""), func(t *testing.T) {
			var off []float64
			within := 0
			for _, row := range rows[1:] {
				d, err := New("x")
				require.NoError(t, err)
				for i, path := range tt.known {
					d = put(t, d, path, strconv.FormatFloat(column(row, tt.column[i]), 'f', -1, 64))
				}
				typical, ok := d.Typical(question(t, d, tt.path))
				require.True(t, ok)
				guess, err := strconv.ParseFloat(typical.Text, 64)
				require.NoError(t, err)
				number, _, _ := strings.Cut(typical.Spread, " ")
				spread, err := strconv.ParseFloat(number, 64)
				require.NoError(t, err)
				if strings.HasSuffix(typical.Spread, "%") && tt.known != nil {
					spread *= guess / 100
				}
				off = append(off, tt.want(row)/guess-1)
				if math.Abs(tt.want(row)-guess) <= spread {
					within++
				}
			}
			slices.Sort(off)
			assert.InDelta(t, 0, off[len(off)/2], 0.03, "the median")
			assert.InDelta(t, 0.9, float64(within)/float64(len(rows)-1), 0.06, "nine in ten")
		})
	}
}

// What the reader of site files says of figures that contradict each other, at
// the moment of typing.
func TestLiveCheck(t *testing.T) {
	tests := []struct{ path, typed, want string }{
		{"array.module.pmp_w", "60", "60 W is not Vmp x Imp; expected 47.5 to 52.5 W"},
		{"array.module.imp_a", "2.95", "Maximum power, Pmp: 50 W is not Vmp x Imp"},
		{"array.module.vmp_v", "22.5", "22.5 V is not below Voc, 22.1 V"},
		{"array.module.isc_a", "2.5", "Current at maximum power, Imp: 2.78 A is not below Isc, 2.5 A"},
		{"array.module.cells", "24", "Voc: is 0.92 V for each of 24 cells"},
		{"controller.absorb_v", "16.5", "16.5 V does not suit a 12 V flooded battery"},
		{"controller.float_v", "14.6", "14.6 V is above the absorption set-point, 14.4 V"},
		{"battery.chemistry", "lfp", "Cells in each block: blocks x cells in each block is 6 cells in series; expected 4"},
		{"nominal_v", "24", "expected 12 in a 24 V lead-acid battery"},
		{"array.fuse_a", "5000", "5000 is out of range"},
		{"battery.installed", "last May", `"last May" is not a year and month`},
		{"place.utc_offset_h", "-2", "does not fit"},
		{"load.1.label", "radio", `Load: "radio" is given twice`},
		{"controller.lamp.1.look.1.volts", "13", "Up to: 12.8 V is not above volts, 13 V"},
	}
	for _, tt := range tests {
		t.Run(tt.path, func(t *testing.T) {
			d := demo(t)
			got, err := d.Would(question(t, d, tt.path), tt.typed)
			require.NoError(t, err)
			require.NotEmpty(t, got)
			assert.Contains(t, strings.Join(got, "\n"), tt.want)
			same, err := d.Would(question(t, d, tt.path), d.Answer(question(t, d, tt.path)))
			if d.Given(question(t, d, tt.path)) {
				require.NoError(t, err)
				assert.Empty(t, same)
			}
			assert.Empty(t, d.AllWrong(), "nothing was changed")
		})
	}
	d := demo(t)
	for path, typed := range map[string]string{
		"array.module.pmp_w": "fifty", "array.series": "1.5", "battery.chemistry": "nickel", "load_wiring.cable_m": "",
		"controller.lamp.0.look.0.means": "shines", "place.sun_hours": "5 five", "controller.load_output": "perhaps",
	} {
		_, err := d.Would(question(t, d, path), typed)
		assert.Error(t, err, path)
		assert.Empty(t, question(t, d, path).Understood(typed), path)
	}
}

// A problem of one of several loads belongs to that load alone.
func TestProblemsOfTheirTable(t *testing.T) {
	d := put(t, demo(t), "load.1.hours_per_day", "30")
	assert.NotEmpty(t, d.Wrong(question(t, d, "load.1.hours_per_day")))
	assert.Empty(t, d.Wrong(question(t, d, "load.0.hours_per_day")))
	require.Len(t, d.AllWrong(), 1)
	assert.Equal(t, "Load 2: phone charging", d.AllWrong()[0].Part)
	assert.Nil(t, d.Site())
	assert.Equal(t, "Lantern Hill clinic", d.Name(), "though it is not usable")
}

func TestLampsLooksAndLoads(t *testing.T) {
	d := demo(t)
	d, err := d.Add(question(t, d, "controller.lamp"))
	require.NoError(t, err)
	left := d.Left()
	require.Len(t, left, 2)
	assert.Equal(t, "controller.lamp.3.label", left[0].Path)
	assert.Equal(t, More, left[1].Form, "a lamp has at least one look")
	d = put(t, d, "controller.lamp.3.label", "fault lamp")
	d, err = d.Add(left[1])
	require.NoError(t, err)
	d = put(t, d, "controller.lamp.3.look.0.look", "blinks", "controller.lamp.3.look.0.means", "battery-below fault")
	require.Len(t, d.Left(), 1)
	assert.Equal(t, "Indicator 4: fault lamp, look 1: blinks", d.Left()[0].Part)
	d = put(t, d, "controller.lamp.3.look.0.volts", "11")
	require.NotNil(t, d.Site())
	assert.Equal(t, []site.Look{{Look: "blinks", Means: []site.Meaning{site.BatteryBelow, site.Fault}, Volts: 11}}, d.Site().Controller.Lamps[3].Looks)

	// What no longer goes with its look is said, still asked for, and can go.
	d = put(t, d, "controller.lamp.3.look.0.means", "12")
	volts := question(t, d, "controller.lamp.3.look.0.volts")
	require.NotEmpty(t, d.Wrong(volts))
	d, err = d.Clear(volts)
	require.NoError(t, err)
	require.NotNil(t, d.Site())

	d, err = d.Remove(question(t, d, "controller.lamp.3.look.0.look"))
	require.NoError(t, err)
	d, err = d.Remove(question(t, d, "controller.lamp.3.label"))
	require.NoError(t, err)
	assert.Equal(t, site.Demo(), d.Site())
	d, err = d.Remove(question(t, d, "load.1.label"))
	require.NoError(t, err)
	assert.Len(t, d.Site().Loads, 2)
	same, err := d.Remove(question(t, d, "nominal_v"))
	require.NoError(t, err)
	assert.Equal(t, d.Bytes(), same.Bytes())
}

func TestAFileByHand(t *testing.T) {
	_, err := Open("x.toml", []byte("name = \n"))
	var problems tomlfile.Problems
	require.ErrorAs(t, err, &problems)

	d, err := Open("x.toml", []byte("name = \"A\"\nfoo = 1\n[array]\nmodule = { pmp_w = 50 } # label\n[battery]\nblocks = 1 # assumedly\n"))
	require.NoError(t, err)
	require.Len(t, d.Elsewhere(), 1)
	assert.Contains(t, d.Elsewhere()[0], "foo: unknown key")
	assert.False(t, d.Assumed(question(t, d, "battery.blocks")), "another word")
	d = put(t, d, "array.module.pmp_w", "60")
	assert.Contains(t, string(d.Bytes()), "module = { pmp_w = 60 } # label\n")
	_, err = d.Put(question(t, d, "array.module.vmp_v"), "18")
	require.ErrorIs(t, err, tomlfile.ErrByHand)
	d = put(t, d, "load_wiring.cable_m", "12")
	assert.True(t, strings.HasSuffix(string(d.Bytes()), "\n\n[load_wiring]\ncable_m = 12  # Load cable, length one way\n"), "%s", d.Bytes())

	copied, err := demo(t).Copy(`The "new" one`)
	require.NoError(t, err)
	assert.Equal(t, `The "new" one`, copied.Site().Name)
	assert.Equal(t, strings.Count(string(site.DemoTOML()), "#"), strings.Count(string(copied.Bytes()), "#"), "its comments too")
}

func BenchmarkLiveCheck(b *testing.B) {
	d := demo(b)
	q := question(b, d, "array.module.imp_a")
	for b.Loop() {
		_, _ = d.Would(q, "2.9")
	}
}
