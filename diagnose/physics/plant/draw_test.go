package plant

import (
	"fmt"
	"math"

	"pgregory.net/rapid"

	"ampwalk/diagnose/physics/site"
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
	drawn := &site.Site{
		NominalV: 12 * level,
		Array: site.Array{
			Series: series, Strings: rapid.IntRange(1, 5).Draw(t, "strings"),
			CableM: draw(t, "array cable", 0.5, 30), CableMM2: area(t, "array area"),
			Module: site.Module{
				PmpW: vmp * imp, VmpV: vmp, ImpA: imp, VocV: voc, IscA: isc,
				Cells: cells, Bypass: rapid.SampledFrom([]int{1, 2, 3, 6}).Draw(t, "bypass"),
				IscPctPerC: draw(t, "alpha", 0.02, 0.08), VocPctPerC: draw(t, "beta", -0.38, -0.26),
			},
		},
		Controller: site.Controller{
			Kind: site.Kind(kind), AbsorbV: absorb * level, FloatV: float * level, CutV: cut * level, RestoreV: restore * level,
			CompMVPerCCell: float64(rapid.IntRange(-5, 0).Draw(t, "comp")),
			OwnUseMA:       draw(t, "own use", 1, 60), LoadOutput: rapid.Bool().Draw(t, "load output"),
		},
		Battery: site.Battery{
			Chemistry: site.Chemistry(chemistry), CapacityAh: draw(t, "ah", 7, 600), Blocks: int(level), CellsPerBlock: perBlock,
			CableM: draw(t, "battery cable", 0.3, 3), CableMM2: area(t, "battery area"),
		},
	}
	drawn.LoadWiring.CableM, drawn.LoadWiring.CableMM2 = draw(t, "load cable", 1, 25), area(t, "load area")
	for range rapid.IntRange(1, 3).Draw(t, "loads") {
		drawn.Loads = append(drawn.Loads, site.Load{PowerW: draw(t, "power", 0.5, 60)})
	}
	text := siteText(drawn)
	s, err := site.Parse("drawn", []byte(text))
	if err != nil {
		t.Fatalf("not a valid site: %v\n%s", err, text)
	}
	return s
}

// DrawAnySite draws a site from all that the parser lets through: every figure
// from its whole range, as far as the others leave it.
func DrawAnySite(t *rapid.T) *site.Site {
	within := func(name string, lo, hi float64) float64 { // even in the logarithm
		return math.Exp(draw(t, name, math.Log(lo), math.Log(hi)))
	}
	s := DrawSite(t)
	m := &s.Array.Module
	m.Cells = rapid.IntRange(2, 200).Draw(t, "any cells")
	m.Bypass = rapid.SampledFrom([]int{1, 2, 3, 6, m.Cells}).Draw(t, "any bypass")
	for m.Cells%m.Bypass != 0 {
		m.Bypass--
	}
	m.VocV = draw(t, "any voc", 0.45, 0.80) * float64(m.Cells)
	m.IscA = within("any isc", max(0.021, 0.6/(0.5*m.VocV)), min(30, 1000/(0.9*m.VocV)))
	m.VmpV, m.ImpA = m.VocV*draw(t, "any vmp", 0.7, 0.9999), m.IscA*draw(t, "any imp", 0.75, 0.9999)
	m.PmpW = m.VmpV * m.ImpA * draw(t, "any pmp", 0.95, 1.05)
	m.IscPctPerC, m.VocPctPerC = draw(t, "any alpha", -0.05, 0.2), draw(t, "any beta", -0.6, -0.1)
	enough := int(s.Controller.AbsorbV/m.VmpV) + 1
	s.Array.Series = rapid.IntRange(min(enough, 20), 20).Draw(t, "any series")
	s.Array.Strings = rapid.IntRange(1, 50).Draw(t, "any strings")
	for _, c := range []struct{ m, mm2 *float64 }{
		{&s.Array.CableM, &s.Array.CableMM2}, {&s.Battery.CableM, &s.Battery.CableMM2}, {&s.LoadWiring.CableM, &s.LoadWiring.CableMM2},
	} {
		*c.m, *c.mm2 = within("any cable", 0.05, 500), within("any area", 0.2, 400)
	}
	s.Controller.OwnUseMA, s.Controller.CompMVPerCCell = draw(t, "any own use", 0, 5000), draw(t, "any comp", -10, 0)
	s.Battery.CapacityAh = within("any ah", 0.5, 20000)
	for k := range s.Loads {
		s.Loads[k].PowerW = within("any power", 0.05, 20000)
	}
	valid, err := site.Parse("drawn", []byte(siteText(s)))
	if err != nil {
		t.Skip("the figures contradict each other: ", err)
	}
	return valid
}

// siteText is a site's file.
func siteText(s *site.Site) string {
	m, c, b := &s.Array.Module, &s.Controller, &s.Battery
	loads := ""
	for i, l := range s.Loads {
		loads += fmt.Sprintf("[[load]]\nlabel = \"load %d\"\npower_w = %.8g\nhours_per_day = 3\npriority = 1\n", i, l.PowerW)
	}
	return fmt.Sprintf(`
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
cable_m = %.8g
cable_mm2 = %.8g
[array.module]
pmp_w = %.8g
vmp_v = %.8g
imp_a = %.8g
voc_v = %.8g
isc_a = %.8g
cells = %d
bypass = %d
isc_pct_per_c = %.8g
voc_pct_per_c = %.8g
noct_c = 46
[controller]
kind = %q
rated_a = 30
absorb_v = %g
float_v = %g
comp_mv_per_c_cell = %.8g
cut_v = %g
restore_v = %g
own_use_ma = %.8g
load_output = %t
[battery]
chemistry = %q
capacity_ah = %.8g
blocks = %d
cells_per_block = %d
cable_m = %.8g
cable_mm2 = %.8g
%s[load_wiring]
cable_m = %.8g
cable_mm2 = %.8g
`, s.NominalV,
		s.Array.Series, s.Array.Strings, s.Array.CableM, s.Array.CableMM2,
		m.PmpW, m.VmpV, m.ImpA, m.VocV, m.IscA, m.Cells, m.Bypass, m.IscPctPerC, m.VocPctPerC,
		c.Kind, c.AbsorbV, c.FloatV, c.CompMVPerCCell, c.CutV, c.RestoreV, c.OwnUseMA, c.LoadOutput,
		b.Chemistry, b.CapacityAh, b.Blocks, b.CellsPerBlock, b.CableM, b.CableMM2,
		loads, s.LoadWiring.CableM, s.LoadWiring.CableMM2)
}

// DrawUnknowns draws the moment and the tolerances of a healthy plant, wider than
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
	u.Ohm, u.Charge, u.Discharge = draw(t, "ohm", 0.6, 2), draw(t, "charge over", 0.2, 5), draw(t, "discharge over", 0.1, 3)
	u.Gas, u.Capacity = draw(t, "gas", 0.2, 5), draw(t, "capacity", 0.8, 1.1)
	return u
}

func draw(t *rapid.T, name string, lo, hi float64) float64 {
	return rapid.Float64Range(lo, hi).Draw(t, name)
}

func area(t *rapid.T, name string) float64 {
	return rapid.SampledFrom([]float64{1.5, 2.5, 4, 6, 10, 16}).Draw(t, name)
}
