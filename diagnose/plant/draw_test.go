package plant

import (
	"fmt"
	"math"

	"pgregory.net/rapid"

	"ampwalk/diagnose/site"
)

// DrawSite draws a site as its file would tell it, from a small lamp to a
// village: read by the parser, so that it is a valid one.
func DrawSite(t *rapid.T) *site.Site {
	level := rapid.SampledFrom([]float64{1, 2, 4}).Draw(t, "level") // × 12 V
	kind := rapid.SampledFrom([]string{"series", "shunt", "mppt"}).Draw(t, "kind")
	cells := rapid.SampledFrom([]int{36, 60, 72}).Draw(t, "cells")
	series := int(math.Ceil(level * 36 / float64(cells)))
	if kind == "mppt" {
		series += rapid.IntRange(0, 2).Draw(t, "more")
	}
	voc := draw(t, "voc", 0.57, 0.66) * float64(cells)
	isc := draw(t, "isc", 0.3, 12)
	vmp, imp := voc*draw(t, "vmp", 0.78, 0.84), isc*draw(t, "imp", 0.91, 0.965)
	chemistry := rapid.SampledFrom([]string{"flooded", "agm", "gel", "lfp"}).Draw(t, "chemistry")
	perBlock, absorb, cut, restore := 6, 14.4, 11.4, 12.6
	if chemistry == "lfp" {
		perBlock, absorb, cut, restore = 4, 14.2, 12.0, 13.0
	}
	float := absorb
	if rapid.Bool().Draw(t, "float") {
		float = 13.7
	}
	loads := ""
	for i := range rapid.IntRange(1, 3).Draw(t, "loads") {
		loads += fmt.Sprintf("[[load]]\nlabel = \"load %d\"\npower_w = %.3g\nhours_per_day = 3\npriority = 1\n", i, draw(t, "power", 0.5, 60))
	}
	text := fmt.Sprintf(`
name = "drawn"
nominal_v = %g
[place]
latitude_deg = 5
longitude_deg = 10
utc_offset_h = 1
tilt_deg = 10
bearing_deg = 180
[array]
series = %d
strings = %d
cable_m = %.3g
cable_mm2 = %g
[array.module]
pmp_w = %.8g
vmp_v = %.8g
imp_a = %.8g
voc_v = %.8g
isc_a = %.8g
cells = %d
bypass = %d
isc_pct_per_c = %.3g
voc_pct_per_c = %.3g
noct_c = 46
[controller]
kind = %q
rated_a = 30
absorb_v = %g
float_v = %g
comp_mv_per_c_cell = %d
cut_v = %g
restore_v = %g
own_use_ma = %.3g
load_output = %t
[battery]
chemistry = %q
capacity_ah = %.3g
blocks = %g
cells_per_block = %d
cable_m = %.3g
cable_mm2 = %g
%s[load_wiring]
cable_m = %.3g
cable_mm2 = %g
`, 12*level,
		series, rapid.IntRange(1, 5).Draw(t, "strings"), draw(t, "array cable", 0.5, 30), area(t, "array area"),
		vmp*imp, vmp, imp, voc, isc, cells, rapid.SampledFrom([]int{1, 2, 3, 6}).Draw(t, "bypass"),
		draw(t, "alpha", 0.02, 0.08), draw(t, "beta", -0.38, -0.26),
		kind, absorb*level, float*level, rapid.IntRange(-5, 0).Draw(t, "comp"), cut*level, restore*level,
		draw(t, "own use", 1, 60), rapid.Bool().Draw(t, "load output"),
		chemistry, draw(t, "ah", 7, 600), level, perBlock, draw(t, "battery cable", 0.3, 3), area(t, "battery area"),
		loads, draw(t, "load cable", 1, 25), area(t, "load area"))
	s, err := site.Parse("drawn", []byte(text))
	if err != nil {
		t.Fatalf("not a valid site: %v\n%s", err, text)
	}
	return s
}

// DrawUnknowns draws the moment and the tolerances of a sound plant, wider than
// the belief ever asks for.
func DrawUnknowns(t *rapid.T, s *site.Site) Unknowns {
	u := Typical()
	// Day, dawn and full darkness.
	u.Irradiance = draw(t, "light", 0, 1200) * rapid.SampledFrom([]float64{1, 1, 1, 0.02, 0}).Draw(t, "day")
	u.IrradianceIsolated = u.Irradiance * draw(t, "drift", 0.7, 1.3)
	u.CellC, u.CellCIsolated = draw(t, "cell", -10, 80), draw(t, "cell isolated", -10, 80)
	u.AirC, u.BatteryC = draw(t, "air", -10, 45), draw(t, "battery", -10, 45)
	u.SoC = draw(t, "charge", 0, 1)
	u.LoadW = draw(t, "loads on", 0, 1) * s.AllListedW()
	u.StepA = s.Battery.CapacityAh * draw(t, "step", 0.02, 0.2)
	u.FloatStage, u.LatchedOff = rapid.Bool().Draw(t, "float stage"), rapid.Bool().Draw(t, "latched")
	u.RunsAlone, u.Blocking = rapid.Bool().Draw(t, "runs alone"), rapid.Bool().Draw(t, "blocking")
	u.Soiling = draw(t, "soiling", 0, 0.07)
	u.Current, u.Voltage = draw(t, "current", 0.9, 1.05), draw(t, "voltage", 0.97, 1.03)
	u.Shunt = rapid.SampledFrom([]float64{0, 0.4, 1}).Draw(t, "shunt")
	u.ArrayJoint, u.BatteryJoint, u.LoadJoint = draw(t, "array joint", 0, 0.05), draw(t, "battery joint", 0, 0.02), draw(t, "load joint", 0, 0.05)
	u.Cable = draw(t, "cable", 0.8, 1.3)
	u.DropV, u.DropOhm = draw(t, "drop", 0, 0.6), draw(t, "drop ohm", 0, 0.05)
	u.Efficiency = draw(t, "efficiency", 0.85, 0.99)
	u.SetPoint, u.OwnUse = draw(t, "set-point", -0.2, 0.2), draw(t, "own", 0.5, 2)
	u.LoadShape = draw(t, "shape", 0, 1)
	u.RestMix, u.RestShift = draw(t, "mix", 0, 1), draw(t, "shift", -0.015, 0.015)
	u.Ohm, u.Charge, u.Discharge = draw(t, "ohm", 0.6, 2), draw(t, "charge over", 0.3, 2), draw(t, "discharge over", 0.3, 2)
	u.Gas, u.Capacity = draw(t, "gas", 0.2, 5), draw(t, "capacity", 0.8, 1.1)
	return u
}

func draw(t *rapid.T, name string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(t, name)
}

func area(t *rapid.T, name string) float64 {
	return rapid.SampledFrom([]float64{1.5, 2.5, 4, 6, 10, 16}).Draw(t, name)
}
