package reading_test

import (
	"encoding/json"
	"flag"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// Every file of the cases parses and comes back from Format unchanged. Only readings
// that were made wrong on purpose are doubted.
func TestCases(t *testing.T) {
	folders, err := filepath.Glob("../../../testdata/cases/*/site.toml")
	require.NoError(t, err)
	require.Len(t, folders, 64)
	doubted := 0
	for _, file := range folders {
		s := parseSite(t, file)
		file = filepath.Join(filepath.Dir(file), "readings.toml")
		set, err := reading.Parse(file, read(t, file), s)
		require.NoError(t, err)

		again, err := reading.Parse("again", reading.Format(set), s)
		require.NoError(t, err)
		assert.Equal(t, set, again)

		var truth struct{ Suspect []reading.Key }
		require.NoError(t, json.Unmarshal(read(t, filepath.Join(filepath.Dir(file), "truth.json")), &truth))
		may := truth.Suspect
		for _, k := range []reading.Key{reading.Irradiance, reading.Irradiance2} {
			if set.Numbers[k] < 0 { // an offset, at night
				may = append(may, k)
			}
		}
		assert.Subset(t, may, slices.Collect(maps.Keys(set.Doubted)), file)
		doubted += len(set.Doubted)
	}
	assert.Positive(t, doubted)
}

const whole = `
taken_at = 2026-11-20T10:30:00+02:00
loads_on = ["ward lamps", "radio"]
not_taken = ["open_v", "load_step.post_v", "lamps.load lamp"]
[instrument.voltmeter]
percent = 0.5
digits = 3
resolution = 0.001
[instrument.thermometer]
plus_minus = 1.5
[as_found]
sky = "clear"
glass = "dusty"
irradiance_w_m2 = 810
battery_c = 27
array_v = 13.9
array_a = 4.6
post_v = 13.5
battery_a = -3.1
load_v = 13.5
[as_found.lamps]
"array lamp" = "lit"
[loads_off]
standby_a = 0.02
[array_isolated]
short_a = 4.7
irradiance_w_m2 = 815
[battery_rested]
minutes = 60
rest_v = 12.7
block_v = [12.7]
gravity = [1.262, 1.258, 1.260, 1.259, 1.262, 1.261]
[load_step]
step_a = 5
`

func TestParse(t *testing.T) {
	set, err := reading.Parse("f", []byte("\ufeff"+strings.ReplaceAll(whole, "\n", "\r\n")), site.Demo())
	require.NoError(t, err)
	assert.Equal(t, time.Date(2026, 11, 20, 8, 30, 0, 0, time.UTC), set.TakenAt.UTC())
	assert.Equal(t, []string{"ward lamps", "radio"}, set.LoadsOn)
	assert.Equal(t, []reading.Key{reading.OpenV, reading.StepPostV, reading.Lamp("load lamp")}, set.NotTaken)
	want := reading.DefaultInstruments()
	want[reading.Voltmeter] = quantity.Instrument{Percent: 0.5, Digits: 3, Resolution: 0.001}
	want[reading.Thermometer] = quantity.Instrument{PlusMinus: 1.5}
	assert.Equal(t, want, set.Instruments)
	assert.Equal(t, map[reading.Key]float64{
		reading.Irradiance: 810, reading.BatteryC: 27, reading.ArrayV: 13.9, reading.ArrayA: 4.6, reading.PostV: 13.5,
		reading.BatteryA: -3.1, reading.LoadV: 13.5, reading.StandbyA: 0.02, reading.ShortA: 4.7, reading.Irradiance2: 815,
		reading.Minutes: 60, reading.RestV: 12.7, reading.StepA: 5,
	}, set.Numbers)
	assert.Equal(t, map[reading.Key]string{
		reading.Sky: "clear", reading.Glass: "dusty", reading.Lamp("array lamp"): "lit",
	}, set.Words)
	assert.Equal(t, map[reading.Key][]float64{
		reading.BlockV: {12.7}, reading.Gravity: {1.262, 1.258, 1.260, 1.259, 1.262, 1.261},
	}, set.Lists)
	assert.Empty(t, set.Doubted)
}

func TestParseEmpty(t *testing.T) {
	set, err := reading.Parse("f", nil, site.Demo())
	require.NoError(t, err)
	assert.Equal(t, reading.NewSet(), set)
	assert.Nil(t, set.LoadsOn)

	set, err = reading.Parse("f", []byte("loads_on = []"), site.Demo())
	require.NoError(t, err)
	assert.NotNil(t, set.LoadsOn, "no load on is not the same as not known")
}

// A file's value beyond the usual is kept, and marked.
func TestParseDoubts(t *testing.T) {
	set, err := reading.Parse("f", []byte("[as_found]\npost_v = 27\nload_a = -3\nair_c = 20\n[battery_rested]\ngravity = [1.2, 1.2, 1.2, 1.4, 1.2, 1.2]"), site.Demo())
	require.NoError(t, err)
	assert.Equal(t, map[reading.Key]bool{reading.PostV: true, reading.LoadA: true, reading.Gravity: true}, set.Doubted)
	assert.Equal(t, 27.0, set.Numbers[reading.PostV])
}

// Each line put into the file is refused at its own line and key, and nothing
// else is.
func TestParseRefuses(t *testing.T) {
	agm := site.Demo()
	agm.Battery.Chemistry = site.AGM
	direct := site.Demo()
	direct.Controller.LoadOutput = false
	tests := []struct {
		name string
		old  string // a line of the whole file; "" for the first
		new  string
		site *site.Site
		key  string
		says string
	}{
		{"unknown key", "post_v = 13.5", "post_w = 13.5", nil, "as_found.post_w", "post_v"},
		{"unknown section", "", "[as_left]", nil, "as_left", "unknown"},
		{"reading in another section", "minutes = 60", "open_v = 20", nil, "battery_rested.open_v", "unknown"},
		{"time without offset", "taken_at = 2026-11-20T10:30:00+02:00", "taken_at = 2026-11-20T10:30:00", nil, "taken_at", "offset from UTC"},
		{"time as text", "taken_at = 2026-11-20T10:30:00+02:00", "taken_at = \"2026-11-20T10:30:00+02:00\"", nil, "taken_at", "text"},
		{"clock never set", "taken_at = 2026-11-20T10:30:00+02:00", "taken_at = 1970-01-01T00:00:00Z", nil, "taken_at", "1970"},
		{"load not listed", "loads_on = [\"ward lamps\", \"radio\"]", "loads_on = [\"kettle\"]", nil, "loads_on", "\"phone charging\""},
		{"load twice", "loads_on = [\"ward lamps\", \"radio\"]", "loads_on = [\"radio\", \"radio\"]", nil, "loads_on", "twice"},
		{"unknown instrument", "[instrument.thermometer]", "[instrument.ruler]", nil, "instrument.ruler", "unknown"},
		{"instrument not whole", "digits = 3", "", nil, "instrument.voltmeter.digits", "missing"},
		{"instrument of two forms", "plus_minus = 1.5", "plus_minus = 1.5\npercent = 1", nil, "instrument.thermometer.percent", "alone"},
		{"calibrated on no day", "plus_minus = 1.5", "plus_minus = 1.5\ncalibrated = \"May\"", nil, "instrument.thermometer.calibrated", "2026-05"},
		{"instrument without error", "plus_minus = 1.5", "plus_minus = 0", nil, "instrument.thermometer.plus_minus", "out of range"},
		{"word", "sky = \"clear\"", "sky = \"blue\"", nil, "as_found.sky", "\"overcast\""},
		{"text for a number", "post_v = 13.5", "post_v = \"13.5\"", nil, "as_found.post_v", "text"},
		{"not a number", "post_v = 13.5", "post_v = nan", nil, "as_found.post_v", "usable"},
		{"infinite", "post_v = 13.5", "post_v = -inf", nil, "as_found.post_v", "usable"},
		{"900 V", "post_v = 13.5", "post_v = 900", nil, "as_found.post_v", "out of range"},
		{"millivolts", "post_v = 13.5", "post_v = 13500", nil, "as_found.post_v", "out of range"},
		{"before the rest", "minutes = 60", "minutes = -5", nil, "battery_rested.minutes", "out of range"},
		{"hydrometer without point", "gravity = [1.262, 1.258, 1.260, 1.259, 1.262, 1.261]", "gravity = [1.262, 1258, 1.260, 1.259, 1.262, 1.261]", nil, "battery_rested.gravity", "entry 2"},
		{"cells", "gravity = [1.262, 1.258, 1.260, 1.259, 1.262, 1.261]", "gravity = [1.262]", nil, "battery_rested.gravity", "expected 6"},
		{"blocks", "block_v = [12.7]", "block_v = [6.3, 6.4]", nil, "battery_rested.block_v", "expected 1"},
		{"number for a list", "block_v = [12.7]", "block_v = 12.7", nil, "battery_rested.block_v", "list"},
		{"gravity of a sealed battery", "", "", agm, "battery_rested.gravity", "agm"},
		{"load output", "", "", direct, "as_found.load_v", "no load output"},
		{"lamp", "\"array lamp\" = \"lit\"", "\"sun lamp\" = \"lit\"", nil, "as_found.lamps.\"sun lamp\"", "\"battery lamp\""},
		{"look", "\"array lamp\" = \"lit\"", "\"array lamp\" = \"dim\"", nil, "as_found.lamps.\"array lamp\"", "\"lit\" or \"out\""},
		{"look of another type", "\"array lamp\" = \"lit\"", "\"array lamp\" = true", nil, "as_found.lamps.\"array lamp\"", "true"},
		{"not taken, unknown", "not_taken = [\"open_v\", \"load_step.post_v\", \"lamps.load lamp\"]", "not_taken = [\"open\"]", nil, "not_taken", "is not a reading"},
		{"not taken, in full", "not_taken = [\"open_v\", \"load_step.post_v\", \"lamps.load lamp\"]", "not_taken = [\"array_isolated.open_v\"]", nil, "not_taken", "expected \"open_v\""},
		{"not taken, lamp", "not_taken = [\"open_v\", \"load_step.post_v\", \"lamps.load lamp\"]", "not_taken = [\"lamps.sun\"]", nil, "not_taken", "is not an indicator"},
		{"not taken, twice", "not_taken = [\"open_v\", \"load_step.post_v\", \"lamps.load lamp\"]", "not_taken = [\"open_v\", \"open_v\"]", nil, "not_taken", "twice"},
		{"not taken, but there", "not_taken = [\"open_v\", \"load_step.post_v\", \"lamps.load lamp\"]", "not_taken = [\"post_v\"]", nil, "not_taken", "has a value"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := tt.site
			if s == nil {
				s = site.Demo()
			}
			text := whole
			if tt.old != "" {
				require.Equal(t, 1, strings.Count(whole, tt.old+"\n"))
				text = strings.Replace(whole, tt.old+"\n", tt.new+"\n", 1)
			} else if tt.new != "" {
				text = whole + tt.new + "\n"
			}
			_, err := reading.Parse("my.readings.toml", []byte(text), s)
			var problems tomlfile.Problems
			require.ErrorAs(t, err, &problems)
			require.Len(t, problems, 1)
			got := problems[0]
			assert.Equal(t, tt.key, got.Key)
			assert.Equal(t, "my.readings.toml", got.File)
			assert.Contains(t, got.Error(), tt.says)
		})
	}
}

// One file with many things wrong, in the words that a person reads.
func TestParseTellsAll(t *testing.T) {
	_, err := reading.Parse("wrong.readings.toml", read(t, "testdata/wrong.readings.toml"), site.Demo())
	require.Error(t, err)
	if *update {
		require.NoError(t, os.WriteFile("testdata/wrong.golden", []byte(err.Error()+"\n"), 0o644))
	}
	assert.Equal(t, string(read(t, "testdata/wrong.golden")), err.Error()+"\n")
}

func read(t *testing.T, file string) []byte {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	return data
}

func parseSite(t *testing.T, file string) *site.Site {
	t.Helper()
	s, err := site.Parse(file, read(t, file))
	require.NoError(t, err)
	return s
}

// Whatever a file of instruments says, each that is read has limits that can be used.
func FuzzParseInstruments(f *testing.F) {
	f.Add([]byte("[instrument.voltmeter]\npercent = 0.5\ndigits = 2\nresolution = 0.01\n"))
	f.Add([]byte("[instrument.clamp]\nplus_minus = 0.1\nname = \"\u202e=x()\"\n"))
	f.Add([]byte("[instrument.clamp]\npercent = nan\n[instrument.none]\n[instrument.voltmeter]\ndigits = -1e308"))
	f.Fuzz(func(t *testing.T, data []byte) {
		list, err := reading.ParseInstruments("x", data)
		if err != nil {
			require.NotContains(t, err.Error(), "\x1b")
			return
		}
		require.NotEmpty(t, list)
		for _, in := range list {
			for _, x := range []float64{in.Percent, in.Digits, in.Resolution, in.PlusMinus} {
				require.True(t, x >= 0 && x < 1e9, "%g", x)
			}
		}
	})
}
