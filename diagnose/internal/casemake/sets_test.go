package main

import (
	"encoding/json"
	"io/fs"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// sets are those that are kept, by the command that makes each: see their READMEs.
var sets = []struct {
	folder string
	seed   uint64
	count  int
	parts  bool
}{
	{"../../../testdata/cases-wide", 61, 300, false},
	{"../../../testdata/cases-parts", 62, 150, true},
}

// A kept case as it stands in a set.
type keptCase struct {
	id             string
	site, readings []byte
	truth          truth
}

func kept(tb testing.TB, folder string) (cases []keptCase) {
	tb.Helper()
	a, err := txtar.ParseFile(filepath.Join(folder, archiveName))
	require.NoError(tb, err)
	files, err := txtar.FS(a)
	require.NoError(tb, err)
	dirs, err := fs.ReadDir(files, ".")
	require.NoError(tb, err)
	for _, d := range dirs {
		c := keptCase{id: d.Name()}
		for name, to := range map[string]*[]byte{"site.toml": &c.site, "readings.toml": &c.readings} {
			*to, err = fs.ReadFile(files, d.Name()+"/"+name)
			require.NoError(tb, err)
		}
		data, err := fs.ReadFile(files, d.Name()+"/truth.json")
		require.NoError(tb, err)
		require.NoError(tb, json.Unmarshal(data, &c.truth))
		cases = append(cases, c)
	}
	return cases
}

// The sets hold every condition and every moment, and healthy plants are a third or more.
func TestSetsHoldEverything(t *testing.T) {
	for _, set := range sets {
		cases := kept(t, set.folder)
		assert.Len(t, cases, set.count)
		times, at := map[string]int{}, map[string]int{}
		acting, doubles, spoilt := map[string]int{}, 0, 0
		for _, c := range cases {
			note := strings.Split(c.truth.Note, "; ")
			at[note[1]]++
			for _, id := range c.truth.Conditions {
				times[id]++
				if note[2] == "lucky" {
					acting[id]++
				}
			}
			if len(c.truth.Conditions) == 2 {
				doubles++
			}
			if len(c.truth.Suspect) > 0 {
				spoilt++
			}
		}
		for _, k := range kinds {
			if k.parts && !set.parts {
				continue
			}
			assert.Greater(t, times[k.id], 1, "%s: %s", set.folder, k.id)
			if k.parts == set.parts { // what the set is there for
				assert.Greater(t, acting[k.id], 1, "%s: %s", set.folder, k.id)
			}
		}
		for _, m := range []string{sun, weak, dusk, night, rundown} {
			assert.Greater(t, at[m], set.count/20, "%s: %s", set.folder, m)
		}
		share := func(n int) float64 { return float64(n) / float64(set.count) }
		assert.Greater(t, share(times["sound"]), 1.0/3)
		assert.InDelta(t, 1.0/12, share(doubles), 0.02)
		assert.InDelta(t, 1.0/12, share(spoilt), 0.04)
		t.Logf("%s: %v, %d doubles, %d with a wrong reading", set.folder, at, doubles, spoilt)
	}
}

// What was written can be read by the program, as far as it knows the keys.
func TestSetsCanBeRead(t *testing.T) {
	for _, set := range sets {
		for _, c := range kept(t, set.folder) {
			if set.parts {
				assert.Empty(t, unknown(t, siteKeys, c.site), c.id)
				assert.Empty(t, unknown(t, readingKeys, c.readings), c.id)
				continue
			}
			s, err := site.Parse("site.toml", c.site)
			require.NoError(t, err, c.id)
			r, err := reading.Parse("readings.toml", c.readings, s)
			require.NoError(t, err, c.id)
			for _, k := range c.truth.Suspect {
				assert.True(t, r.Has(reading.Key(k)), "%s: %s", c.id, k)
			}
		}
	}
}

// By the readings as written, with the limits of their instruments, the battery's current
// is the array's less what loads and the controller take: series controllers of sound
// plants that pass all on or hold by fast pulses.
func TestReadCurrentsBalance(t *testing.T) {
	balanced := 0
	for _, c := range kept(t, sets[0].folder) {
		var s siteFile
		require.NoError(t, toml.Unmarshal(c.site, &s))
		r, err := reading.Parse("readings.toml", c.readings, mustSite(t, c.site))
		require.NoError(t, err)
		in, out, load := reading.ArrayA, reading.BatteryA, reading.LoadA
		whole := r.Has(in) && r.Has(out) && r.Has(load)
		if c.truth.Conditions[0] != "sound" || len(c.truth.Suspect) > 0 || s.Control.Kind != seriesKind || !whole {
			continue
		}
		balanced++
		limit := 0.003 + s.Control.OwnUseMA/1000*0.5
		for _, k := range []reading.Key{in, out, load} {
			i := r.Instruments[reading.Clamp]
			limit += i.Percent/100*math.Abs(r.Numbers[k]) + (i.Digits+0.5)*i.Resolution
		}
		left := r.Numbers[in] - r.Numbers[out] - r.Numbers[load] - s.Control.OwnUseMA/1000
		assert.LessOrEqual(t, math.Abs(left), limit, c.id)
	}
	assert.Greater(t, balanced, 20)
}

func mustSite(tb testing.TB, data []byte) *site.Site {
	tb.Helper()
	s, err := site.Parse("site.toml", data)
	require.NoError(tb, err)
	return s
}

// The keys of the file formats, sections 1, 2 and 6, once more: table and key.
var (
	siteKeys = words(`name nominal_v place.latitude_deg place.longitude_deg place.utc_offset_h place.tilt_deg place.bearing_deg
		array.series array.strings array.fuse_a array.cable_m array.cable_mm2 array.installed array.module.pmp_w array.module.vmp_v
		array.module.imp_a array.module.voc_v array.module.isc_a array.module.cells array.module.bypass array.module.isc_pct_per_c
		array.module.voc_pct_per_c array.module.noct_c controller.kind controller.rated_a controller.absorb_v controller.float_v
		controller.comp_mv_per_c_cell controller.cut_v controller.restore_v controller.own_use_ma controller.load_output
		controller.lamp.label controller.lamp.look.look controller.lamp.look.means controller.lamp.look.volts controller.lamp.look.volts_to
		battery.chemistry battery.capacity_ah battery.blocks battery.cells_per_block battery.fuse_a battery.cable_m battery.cable_mm2
		battery.installed battery.strings battery.equalise_v battery.equalise_days load.label load.power_w load.hours_per_day
		load.priority load.from load.kind load_wiring.fuse_a load_wiring.cable_m load_wiring.cable_mm2 inverter.rated_w inverter.idle_w
		inverter.efficiency inverter.cut_v inverter.restore_v inverter.from inverter.fuse_a inverter.cable_m inverter.cable_mm2
		inverter.lamp.label inverter.lamp.look.look inverter.lamp.look.means charger.rated_a charger.absorb_v charger.float_v earthing.pole`)
	readingKeys = words(`taken_at loads_on visit complaint changed instrument.voltmeter.percent instrument.voltmeter.digits
		instrument.voltmeter.resolution instrument.clamp.percent instrument.clamp.digits instrument.clamp.resolution
		instrument.irradiance.percent instrument.irradiance.digits instrument.irradiance.resolution instrument.thermometer.plus_minus
		instrument.hydrometer.plus_minus as_found.sky as_found.shade as_found.glass as_found.irradiance_w_m2 as_found.module_c
		as_found.air_c as_found.battery_c as_found.array_v as_found.module_v as_found.array_a as_found.battery_v as_found.post_v
		as_found.battery_a as_found.load_v as_found.load_a as_found.load_end_v as_found.inverter_a as_found.inverter_v
		as_found.charger_on as_found.charger_a as_found.string_a as_found.pack_percent as_found.pack_alarm as_found.plus_earth_v
		as_found.minus_earth_v as_found.not_working as_found.seen as_found.lamps.* as_found.inverter_lamps.* loads_off.standby_a
		array_isolated.open_v array_isolated.short_a array_isolated.irradiance_w_m2 array_isolated.module_c battery_rested.minutes
		battery_rested.rest_v battery_rested.block_v battery_rested.gravity load_step.step_a load_step.post_v load_step.block_v`)
)

func words(s string) []string { return strings.Fields(s) }

// unknown are the keys of a file that are not in the list; a name "*" is any.
func unknown(tb testing.TB, keys []string, data []byte) (bad []string) {
	tb.Helper()
	var all map[string]any
	require.NoError(tb, toml.Unmarshal(data, &all))
	var walk func(path string, v any)
	walk = func(path string, v any) {
		switch v := v.(type) {
		case map[string]any:
			for name, below := range v {
				walk(strings.TrimPrefix(path+"."+name, "."), below)
			}
			return
		case []any:
			if len(v) > 0 {
				if _, table := v[0].(map[string]any); table {
					for _, one := range v {
						walk(path, one)
					}
					return
				}
			}
		}
		cut := strings.LastIndex(path, ".")
		if !slices.Contains(keys, path) && !slices.Contains(keys, path[:max(cut, 0)]+".*") {
			bad = append(bad, path)
		}
	}
	walk("", all)
	return bad
}
