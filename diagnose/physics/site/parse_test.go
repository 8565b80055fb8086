package site_test

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

var update = flag.Bool("update", false, "rewrite the golden files")

func TestCases(t *testing.T) {
	files, err := filepath.Glob("../../../testdata/cases/*/site.toml")
	require.NoError(t, err)
	require.Len(t, files, 64)
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		_, err = site.Parse(file, data)
		assert.NoError(t, err)
	}
}

func TestDemo(t *testing.T) {
	s, err := site.Parse("demo.site.toml", site.DemoTOML())
	require.NoError(t, err)
	assert.Equal(t, s, site.Demo())
	assert.Equal(t, 12.0, s.NominalV)
	assert.Equal(t, site.Module{
		PmpW: 50, VmpV: 18, ImpA: 2.78, VocV: 22.1, IscA: 2.97, Cells: 36, Bypass: 2,
		IscPctPerC: 0.05, VocPctPerC: -0.32, NOCTC: 46,
	}, s.Array.Module)
	lamp, ok := s.Lamp("battery lamp")
	require.True(t, ok)
	assert.Equal(t, site.Look{Look: "two bars", Means: []site.Meaning{site.BatteryBetween}, Volts: 12, VoltsTo: 12.8}, lamp.Looks[1])
	assert.Len(t, s.Loads, 3)
}

func TestOptionalKeys(t *testing.T) {
	text := string(site.DemoTOML())
	for _, line := range []string{"fuse_a = 10  ", "fuse_a = 20", "fuse_a = 10\n", "installed = \"2023-05\""} {
		text = strings.ReplaceAll(text, line, "")
	}
	text = text[:strings.Index(text, "[[load]]\nlabel")] + "[load_wiring]\ncable_m = 12\ncable_mm2 = 2.5\n"
	text = strings.Replace(text, "# sun_hours", "sun_hours", 1)
	s, err := site.Parse("f", []byte("\ufeff"+strings.ReplaceAll(text, "\n", "\r\n")))
	require.NoError(t, err)
	assert.Zero(t, s.Array.FuseA)
	assert.Zero(t, s.Battery.FuseA)
	assert.Zero(t, s.LoadWiring.FuseA)
	assert.Empty(t, s.Array.Installed)
	assert.Empty(t, s.Loads)
	assert.Equal(t, 5.9, s.Place.SunHours[10])
}

// Each change to the demo file is refused at its own line and key, and nothing
// else is.
func TestParseRefuses(t *testing.T) {
	tests := []struct {
		name, old, new string
		key            string
		at             string // text of the line that is named; "": the changed one
		says           string // a word of the reason
	}{
		{"unknown key", "tilt_deg = 15", "tilt_deg = 15\nslope = 3", "place.slope", "slope = 3", "unknown"},
		{"misspelt key", "noct_c = 46", "noct_c = 46\nvoc_w = 22", "array.module.voc_w", "voc_w = 22", "did you mean voc_v"},
		{"unknown table", "[load_wiring]", "[solar]\n[load_wiring]", "solar", "[solar]", "unknown"},
		{"missing key", "tilt_deg = 15 ", "", "place.tilt_deg", "[place]", "missing"},
		{"missing top key", "name = \"Lantern Hill clinic\"", "", "name", "# A site file", "missing"},
		{"empty name", "\"Lantern Hill clinic\"", "\" \"", "name", "", "empty"},
		{"escape in name", "\"Lantern Hill clinic\"", `"\u001b[2Jx"`, "name", "", "control"},
		{"text for a number", "pmp_w = 50", "pmp_w = \"50\"", "array.module.pmp_w", "", "text"},
		{"number for a text", "label = \"radio\"", "label = 7", "load.label", "", "whole number"},
		{"half a string", "strings = 2", "strings = 1.5", "array.strings", "", "whole number"},
		{"no truth", "load_output = true", "load_output = 1", "controller.load_output", "", "true or false"},
		{"not a number", "rated_a = 10", "rated_a = nan", "controller.rated_a", "", "usable"},
		{"infinite", "rated_a = 10", "rated_a = -inf", "controller.rated_a", "", "usable"},
		{"too far north", "latitude_deg = -12.6", "latitude_deg = 126", "place.latitude_deg", "", "out of range"},
		{"no such voltage", "nominal_v = 12", "nominal_v = 36", "nominal_v", "", "12, 24 or 48"},
		{"no such kind", "kind = \"series\"", "kind = \"pwm\"", "controller.kind", "", "\"mppt\""},
		{"sun hours short", "# sun_hours = [5.0,", "sun_hours = [", "place.sun_hours", "", "11 numbers"},
		{"sun hours wrong", "# sun_hours = [5.0,", "sun_hours = [50,", "place.sun_hours", "", "entry 1"},
		{"month", "cable_mm2 = 4\ninstalled = \"2023-05\"", "cable_mm2 = 4\ninstalled = \"2023-13\"", "array.installed", "2023-13", "year and month"},
		{"time against longitude", "longitude_deg = 34.1", "longitude_deg = -34.1", "place.utc_offset_h", "utc_offset_h", "east positive"},
		{"vmp above voc", "vmp_v = 18.0", "vmp_v = 23.0\n#", "array.module.vmp_v", "", "below voc_v"},
		{"imp above isc", "imp_a = 2.78", "imp_a = 3.1\n#", "array.module.imp_a", "", "below isc_a"},
		{"power is no product", "pmp_w = 50", "pmp_w = 60", "array.module.pmp_w", "", "vmp_v x imp_a"},
		{"cells", "cells = 36", "cells = 72", "array.module.voc_v", "voc_v = 22.1", "each of 72 cells"},
		{"bypass", "bypass = 2", "bypass = 5", "array.module.bypass", "", "evenly"},
		{"restore below cut", "restore_v = 12.6", "restore_v = 11.4", "controller.restore_v", "", "above cut_v"},
		{"float above absorb", "float_v = 13.7", "float_v = 14.6", "controller.float_v", "", "above absorb_v"},
		{"nameplate of a poor diode", "isc_a = 2.97", "isc_a = 6.0", "array.module.pmp_w", "pmp_w = 50", "voc_v x isc_a"},
		{"set-point of another system", "absorb_v = 14.4", "absorb_v = 17.2", "controller.absorb_v", "", "flooded"},
		{"cells of another chemistry", "cells_per_block = 6", "cells_per_block = 4", "battery.cells_per_block", "", "expected 6"},
		{"two lamps of one name", "label = \"load lamp\"", "label = \"array lamp\"", "controller.lamp.label", "", "twice"},
		{"two looks of one name", "look = \"one bar\"", "look = \"two bars\"", "controller.lamp.look.look", "", "twice"},
		{"no such time of use", "label = \"radio\"", "label = \"radio\"\nused = \"night\"", "load.used", "used = \"night\"", "\"evening\""},
		{"two loads of one name", "label = \"radio\"", "label = \"ward lamps\"", "load.label", "", "twice"},
		{"unknown meaning", "means = \"array-dead\"", "means = \"array-off\"", "controller.lamp.look.means", "", "\"array-dead\""},
		{"opposite meanings", "means = [\"loads-cut\"]", "means = [\"loads-cut\", \"loads-live\"]", "controller.lamp.look.means", "", "both"},
		{"between without volts_to", "volts_to = 12.8", "", "controller.lamp.look.volts_to", "[[controller.lamp.look]]\nlook = \"two bars\"", "missing"},
		{"between turned round", "volts_to = 12.8", "volts_to = 11.8", "controller.lamp.look.volts_to", "", "lower voltage first"},
		{"above without volts", "means = \"battery-above\"\nvolts = 12.8", "means = \"battery-above\"", "controller.lamp.look.volts", "[[controller.lamp.look]]\nlook = \"three bars\"", "missing"},
		{"volts without meaning", "means = \"unpowered\"", "means = \"unpowered\"\nvolts = 12.0 # none", "controller.lamp.look.volts", "# none", "means nothing"},
		{"table for a value", "[load_wiring]\nfuse_a = 10\ncable_m = 12 ", "[load_wiring]\nfuse_a = 10\ncable_m.far = 12 ", "load_wiring.cable_m", "cable_m.far", "a table"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			demo := string(site.DemoTOML())
			require.Equal(t, 1, strings.Count(demo, tt.old), "the demo file has %q once", tt.old)
			text := strings.Replace(demo, tt.old, tt.new, 1)
			_, err := site.Parse("my.site.toml", []byte(text))
			var problems tomlfile.Problems
			require.ErrorAs(t, err, &problems)
			first := problems[0]
			assert.Equal(t, tt.key, first.Key)
			assert.Equal(t, "my.site.toml", first.File)
			line := lineOf(demo, tt.old)
			if tt.at != "" {
				line = lineOf(text, tt.at)
			}
			assert.Equal(t, line, first.Line)
			assert.Contains(t, first.Error(), tt.says)
			assert.Equal(t, plaintext.Clean(first.Error()), first.Error())
			assert.Len(t, problems, 1)
		})
	}
}

func lineOf(text, at string) int {
	return 1 + strings.Count(text[:strings.Index(text, at)], "\n")
}

// A 24 V system whose array has only one 18 V module in series.
func TestParseArrayTooLow(t *testing.T) {
	text := strings.NewReplacer("nominal_v = 12 ", "nominal_v = 24 ", "absorb_v = 14.4", "absorb_v = 28.8", "float_v = 13.7", "float_v = 27.4",
		"cut_v = 11.4", "cut_v = 22.8", "restore_v = 12.6", "restore_v = 25.2", "blocks = 1 ", "blocks = 2 ").Replace(string(site.DemoTOML()))
	_, err := site.Parse("f", []byte(text))
	var problems tomlfile.Problems
	require.ErrorAs(t, err, &problems)
	require.Len(t, problems, 1)
	assert.Equal(t, "array.series", problems[0].Key)
	_, err = site.Parse("f", []byte(strings.Replace(text, "series = 1 ", "series = 2 ", 1)))
	assert.NoError(t, err)
}

// Batteries of the usual make-ups with the set-points they are sold with
// (common practice, from memory).
func TestParseBatteries(t *testing.T) {
	tests := []struct {
		chemistry                   string
		nominal                     int
		blocks, cells               int
		absorb, float, cut, restore float64
		key                         string // what is refused; "": nothing
	}{
		{"flooded", 12, 6, 1, 14.8, 13.5, 11.0, 12.5, ""}, // six single cells
		{"agm", 12, 1, 6, 14.7, 13.8, 11.5, 12.8, ""},
		{"agm", 12, 1, 6, 15.5, 13.8, 11.5, 12.8, "controller.absorb_v"},
		{"gel", 24, 2, 6, 28.2, 27.6, 23.0, 25.0, ""},
		{"gel", 24, 2, 6, 28.2, 27.6, 11.5, 25.0, "controller.cut_v"},
		{"flooded", 48, 4, 6, 58.8, 54.0, 46.0, 50.4, ""},
		{"flooded", 48, 24, 1, 58.8, 54.0, 46.0, 50.4, ""},
		{"flooded", 48, 2, 6, 58.8, 54.0, 46.0, 50.4, "battery.cells_per_block"},
		{"lfp", 12, 1, 4, 14.2, 13.6, 12.0, 13.0, ""},
		{"lfp", 12, 1, 6, 14.2, 13.6, 12.0, 13.0, "battery.cells_per_block"},
		{"lfp", 48, 1, 15, 51.8, 50.5, 44.0, 48.5, ""},
		{"lfp", 48, 1, 16, 56.8, 54.0, 46.0, 51.0, ""},
		{"lfp", 48, 1, 16, 51.8, 51.7, 44.0, 48.5, "controller.absorb_v"}, // charged as 15 cells
	}
	for _, tt := range tests {
		t.Run(fmt.Sprintf("%s %d V, %d x %d", tt.chemistry, tt.nominal, tt.blocks, tt.cells), func(t *testing.T) {
			text := strings.NewReplacer(
				"nominal_v = 12 ", fmt.Sprintf("nominal_v = %d ", tt.nominal),
				"series = 1 ", "series = 4 ",
				"absorb_v = 14.4", fmt.Sprintf("absorb_v = %g", tt.absorb),
				"float_v = 13.7", fmt.Sprintf("float_v = %g", tt.float),
				"cut_v = 11.4", fmt.Sprintf("cut_v = %g", tt.cut),
				"restore_v = 12.6", fmt.Sprintf("restore_v = %g", tt.restore),
				`chemistry = "flooded"`, fmt.Sprintf("chemistry = %q", tt.chemistry),
				"blocks = 1 ", fmt.Sprintf("blocks = %d ", tt.blocks),
				"cells_per_block = 6 ", fmt.Sprintf("cells_per_block = %d ", tt.cells),
			).Replace(string(site.DemoTOML()))
			s, err := site.Parse("f", []byte(text))
			if tt.key == "" {
				require.NoError(t, err)
				assert.Equal(t, tt.blocks*tt.cells, s.Battery.Cells())
				return
			}
			var problems tomlfile.Problems
			require.ErrorAs(t, err, &problems)
			require.Len(t, problems, 1)
			assert.Equal(t, tt.key, problems[0].Key)
		})
	}
}

// One file with many things wrong: all of them are told, in the words that a
// person reads.
func TestParseTellsAll(t *testing.T) {
	data, err := os.ReadFile("testdata/wrong.site.toml")
	require.NoError(t, err)
	_, err = site.Parse("wrong.site.toml", data)
	require.Error(t, err)
	if *update {
		require.NoError(t, os.WriteFile("testdata/wrong.golden", []byte(err.Error()+"\n"), 0o644))
	}
	want, readErr := os.ReadFile("testdata/wrong.golden")
	require.NoError(t, readErr)
	assert.Equal(t, string(want), err.Error()+"\n")
}

func TestParseSyntax(t *testing.T) {
	for name, tt := range map[string]struct {
		text string
		line int
	}{
		"half a line":  {"name = \"x\"\nnominal_v\n", 2},
		"key twice":    {"name = \"x\"\nname = \"y\"\n", 2},
		"table twice":  {"[place]\n[array]\n[place]\n", 3},
		"open quote":   {"\n\nname = \"x\n", 3},
		"not UTF-8":    {"name = \"\xff\"\n", 1},
		"empty":        {"", 1},
		"only a mark":  {"\ufeff", 1},
		"huge integer": {"nominal_v = 99999999999999999999", 1},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := site.Parse("f", []byte(tt.text))
			var problems tomlfile.Problems
			require.ErrorAs(t, err, &problems)
			assert.Equal(t, tt.line, problems[0].Line)
		})
	}
}

func FuzzParse(f *testing.F) {
	f.Add(site.DemoTOML())
	wrong, err := os.ReadFile("testdata/wrong.site.toml")
	require.NoError(f, err)
	f.Add(wrong)
	for _, text := range []string{"", "\ufeff", "name = 1", "a.b.c = {d = [{e = nan}]}", "[[load]]\n[[load]]\n[load.x]", "array = [1, {module = 2}]", "'\x00' = 1", "\"\\u001b[2J\" = 1"} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		s, err := site.Parse("f", data)
		if err == nil {
			finite(t, reflect.ValueOf(*s))
			return
		}
		assert.Nil(t, s)
		var problems tomlfile.Problems
		require.ErrorAs(t, err, &problems)
		require.NotEmpty(t, problems)
		lines := 1 + strings.Count(string(data), "\n")
		for _, p := range problems {
			assert.True(t, p.Line >= 1 && p.Line <= lines, "line %d of %d", p.Line, lines)
			assert.Equal(t, plaintext.Clean(p.Error()), p.Error())
		}
	})
}

// finite checks every number and every text of a value.
func finite(t *testing.T, v reflect.Value) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, v.Field(i))
		}
	case reflect.Slice:
		for i := range v.Len() {
			finite(t, v.Index(i))
		}
	case reflect.Float64:
		assert.False(t, math.IsNaN(v.Float()) || math.IsInf(v.Float(), 0))
	case reflect.String:
		assert.Equal(t, plaintext.Clean(v.String()), v.String())
	}
}
