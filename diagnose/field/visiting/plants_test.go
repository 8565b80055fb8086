package visiting_test

import (
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

const plantsDir = "../../../testdata/plants"

// plants are the described ones, by the names of their files.
func plants(t *testing.T) map[string]*site.Site {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(plantsDir, "*.site.toml"))
	require.NoError(t, err)
	all := map[string]*site.Site{}
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		s, err := site.Parse(name, text)
		require.NoError(t, err)
		all[strings.TrimSuffix(filepath.Base(name), ".site.toml")] = s
	}
	return all
}

// noon is an ordinary plant by day with half of its loads on, and what it shows.
func noon(s *site.Site) (plant.Unknowns, plant.Out, []string) {
	u := plant.Typical()
	u.SoC, u.Earthed = 0.6, s.Earthing
	on := []string{}
	for i, l := range s.Loads {
		if i%2 == 0 && l.Kind == site.Steady {
			on = append(on, l.Label)
		}
	}
	u.SetLoads(s, func(i int) float64 {
		if i%2 == 0 && s.Loads[i].Kind == site.Steady {
			return s.Loads[i].PowerW
		}
		return 0
	})
	var o plant.Out
	plant.New(s, 45).Solve(&u, &o)
	return u, o, on
}

// Twenty plants of all kinds can be written as files and solved by day and by night, with
// whatever can be wrong there: every reading is a number. Their visits have steps for what
// they have, and the remarks are whole sentences.
func TestPlantsAsFound(t *testing.T) {
	all := plants(t)
	require.GreaterOrEqual(t, len(all), 20)
	text, err := os.ReadFile(filepath.Join(plantsDir, "README.md"))
	require.NoError(t, err)
	has := map[string]int{}
	for name, s := range all {
		assert.Contains(t, string(text), "`"+name+"`", "a sentence in the README")
		p := plant.New(s, 45)
		for _, light := range []float64{0, 60, 900} {
			for _, c := range condition.Applicable(s) {
				u, _, _ := noon(s)
				u.Irradiance, u.IrradianceIsolated = light, light
				condition.Disturb(c.ID, s, &u, 0.6, 0.6, 0)
				var o plant.Out
				p.Solve(&u, &o)
				for k, x := range o.Value {
					require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%s, %s, light %g: reading %d", name, c.ID, light, k)
				}
			}
		}
		course := procedure.For(s)
		for k, part := range map[reading.Key]bool{
			reading.InverterA: s.Inverter != nil, reading.ChargerA: s.Charger != nil, reading.StringA: s.Battery.Parallel() > 1, reading.PlusEarthV: s.Earthing != "", reading.USBV: s.Kit != nil,
		} {
			_, asked := course.StepFor(k)
			assert.Equal(t, part, asked, "%s: %s", name, k)
			if part {
				has[string(k)]++
			}
		}
		has[string(s.Controller.Kind)]++
		has[string(s.Battery.Chemistry)]++
		for _, remark := range visiting.Remarks(s) {
			assert.NotContains(t, remark, "%!", name)
		}
	}
	for _, what := range []string{"inverter_a", "charger_a", "string_a", "plus_earth_v", "usb_v", "series", "shunt", "mppt", "flooded", "agm", "gel", "lfp"} {
		assert.Positive(t, has[what], what)
	}
	// Remarks that a technician would make of three of them.
	for name, want := range map[string]string{
		"sixty-cells": "60 cells in series", "shop-on-output": "Inverter on the load output", "bare-battery-house": "Battery: no fuse", "three-strings": "Inverter fuse: 63 A, but its cable of 10 mm2",
	} {
		assert.Contains(t, strings.Join(visiting.Remarks(all[name]), "\n"), want, name)
	}
}

// Where all is as its plates say, the readings of a short visit leave the belief that all is
// well in the lead.
func TestPlantsAsFoundAreSound(t *testing.T) {
	if testing.Short() {
		t.Skip("infers every plant")
	}
	every := effort.Of(0, 5, 1)
	n := 0
	for name, s := range plants(t) {
		if n++; n%every != 0 {
			continue
		}
		_, o, on := noon(s)
		set := reading.NewSet()
		set.LoadsOn = on
		set.Words[reading.Sky], set.Words[reading.Glass], set.Words[reading.Shade] = "clear", "clean", "none"
		set.Words[reading.Visit] = "round"
		if s.Charger != nil {
			set.Words[reading.ChargerOn] = "false"
		}
		for _, k := range []reading.Key{reading.Irradiance, reading.ArrayA, reading.BatteryA, reading.LoadA, reading.PostV, reading.BatteryV, reading.InverterA, reading.InverterV} {
			i, _ := plant.IndexOf(k)
			if reading.Offered(k, s) && !o.Floats[i] {
				set.Numbers[k] = math.Round(100*o.Value[i]) / 100
			}
		}
		if n := s.Battery.Parallel(); n > 1 {
			for range n {
				set.Lists[reading.StringA] = append(set.Lists[reading.StringA], math.Round(100*o.Value[plant.StringRest])/100)
			}
		}
		r, err := belief.Infer(belief.Input{Site: s, Readings: set})
		require.NoError(t, err, name)
		assert.Equal(t, condition.Sound, r.Conditions[0].ID, "%s: %s %.2f, sound %.2f", name, r.Conditions[0].ID, r.Conditions[0].P, r.Of(condition.Sound))
	}
}
