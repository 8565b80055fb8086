package plant_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A dice draws invented sites, moments and tolerances.
type dice struct{ *rand.Rand }

func (d dice) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

func (d dice) spread(factor float64) float64 { return math.Pow(factor, d.between(-1, 1)) }

func pick[T any](d dice, from ...T) T { return from[d.IntN(len(from))] }

// round to a number of decimals, as a nameplate or a file has it.
func round(x float64, decimals int) float64 {
	p := math.Pow10(decimals)
	return math.Round(x*p) / p
}

// site draws a site that a site file could describe.
func (d dice) site(kind site.Kind, chemistry site.Chemistry) *site.Site {
	s := &site.Site{Name: "Invented site", NominalV: pick(d, 12.0, 12, 12, 24, 24, 48)}
	n := s.NominalV / 12
	lat := round(d.between(-33, 33), 2)
	lon := round(d.between(-17, 120), 2)
	s.Place = site.Place{LatitudeDeg: lat, LongitudeDeg: lon, UTCOffsetH: math.Round(lon / 15), TiltDeg: pick(d, 5.0, 10, 15, 20, 30)}
	if lat > 0 {
		s.Place.BearingDeg = 180
	}
	s.Array = d.array(kind, n)
	watts := s.Array.PowerW()
	s.Battery = d.battery(chemistry, n, watts)
	s.Controller = d.controller(kind, chemistry, s)
	labels := []string{"ward lamps", "phone charging", "radio set", "fan", "cooler"}
	for k := range 2 + d.IntN(3) {
		s.Loads = append(s.Loads, site.Load{
			Label:       labels[k],
			PowerW:      max(2, math.Round(watts*d.between(0.02, 0.15))),
			HoursPerDay: float64(2 + d.IntN(8)),
			Priority:    k + 1,
		})
	}
	s.LoadWiring = site.LoadWiring{CableM: math.Round(d.between(3, 20)), CableMM2: pick(d, 2.5, 4, 6)}
	return s
}

func (d dice) array(kind site.Kind, n float64) site.Array {
	cells := 36
	series := int(n)
	switch {
	case kind == site.MPPT:
		cells = pick(d, 60, 72)
		series = int(max(1, n*float64(1+d.IntN(2))))
	case n >= 2 && d.IntN(2) == 0:
		cells, series = 72, int(n)/2
	}
	isc := round(pick(d, 0.6, 1.3, 3, 5, 8.8)*d.between(0.9, 1.1), 2)
	voc := round(float64(cells)*d.between(0.595, 0.66), 1)
	m := site.Module{
		VocV: voc, IscA: isc, Cells: cells,
		VmpV: round(voc*d.between(0.795, 0.825), 1), ImpA: round(isc*d.between(0.92, 0.95), 2),
		Bypass: pick(d, 1, 2, 2, 3), IscPctPerC: 0.05, VocPctPerC: round(d.between(-0.36, -0.27), 2), NOCTC: math.Round(d.between(43, 48)),
	}
	m.PmpW = round(m.VmpV*m.ImpA, 1)
	strings := 1 + d.IntN(3)
	const maxA = 40 // at the battery
	for strings > 1 && m.PmpW*float64(series*strings) > maxA*12*n {
		strings--
	}
	return site.Array{
		Series: series, Strings: strings, Module: m,
		CableM: math.Round(d.between(4, 20)), CableMM2: pick(d, 2.5, 4, 6, 10), Installed: "2023-05",
	}
}

func (d dice) battery(chemistry site.Chemistry, n, watts float64) site.Battery {
	b := site.Battery{
		Chemistry: chemistry, CapacityAh: max(7, math.Round(watts/(12*n)*d.between(5, 25))),
		Blocks: int(n), CellsPerBlock: 6,
		CableM: round(d.between(0.4, 3), 1), CableMM2: pick(d, 6.0, 10, 16), Installed: "2022-08",
	}
	if chemistry == site.LFP {
		b.CellsPerBlock = 4
	}
	return b
}

func (d dice) controller(kind site.Kind, chemistry site.Chemistry, s *site.Site) site.Controller {
	cells := float64(s.Battery.Cells())
	c := site.Controller{
		Kind: kind, RatedA: math.Ceil(1.3*s.Array.PowerW()/s.NominalV/5) * 5,
		OwnUseMA: math.Round(d.between(4, 40)), LoadOutput: d.IntN(3) > 0,
	}
	perCell := func(lo, hi float64) float64 { return round(cells*d.between(lo, hi), 1) }
	if chemistry == site.LFP {
		c.AbsorbV, c.FloatV, c.CutV, c.RestoreV = perCell(3.5, 3.6), perCell(3.35, 3.42), perCell(2.9, 3.05), perCell(3.2, 3.28)
	} else {
		c.AbsorbV, c.FloatV, c.CutV, c.RestoreV = perCell(2.36, 2.42), perCell(2.24, 2.3), perCell(1.88, 1.93), perCell(2.06, 2.12)
		c.CompMVPerCCell = pick(d, 0.0, -3, -4, -5)
	}
	if d.IntN(4) == 0 {
		c.FloatV = c.AbsorbV
	}
	return c
}

// A moment is the light and the charge a trial is drawn for.
type moment int

const (
	atNight moment = iota
	inDimLight
	bySun
	nearFull
	runDown
)

// darkest is a night without a moon [W/m2], the least light plant reckons with.
const darkest = 1e-3

// unknowns draws everything a site file does not tell, over the ranges of sound
// parts.
func (d dice) unknowns(s *site.Site, m moment) plant.Unknowns {
	u := plant.Unknowns{
		SoC: d.between(0.15, 0.95), LoadW: s.AllListedW() * max(0, d.between(-0.3, 1)),
		FloatStage: d.IntN(3) == 0, LatchedOff: d.IntN(3) == 0, RunsAlone: d.IntN(2) == 0,
		Soiling: d.between(0, 0.07), Current: d.between(0.95, 1.02), Voltage: d.between(0.985, 1.015), Shunt: d.Float64(),
		ArrayJoint: d.between(0, 0.02), BatteryJoint: d.between(0, 0.02), LoadJoint: d.between(0, 0.02), Cable: d.between(0.9, 1.15),
		DropV: d.between(0.01, 0.5), DropOhm: d.between(0.005, 0.02), Efficiency: d.between(0.92, 0.985),
		SetPoint: d.between(-0.12, 0.12), OwnUse: d.spread(1.4), LoadShape: d.Float64(),
		RestMix: d.Float64(), Ohm: 1.15 * d.spread(1.4), Charge: 0.75 * d.spread(1.7), Discharge: 0.5 * d.spread(2),
		Gas: d.spread(2.5), Capacity: 0.9, OneMinute: d.between(0.2, 0.65), Surface: 0.4 * d.spread(2), Taken: d.between(0, 1), Decay: 45,
		AirC: d.between(8, 40),
	}
	u.BatteryC = u.AirC + d.between(-6, 4)
	u.RestShift = d.between(-0.01, 0.01)
	switch m {
	case atNight:
		u.Irradiance = pick(d, darkest, darkest, 0.05, 0.5)
	case inDimLight:
		u.Irradiance = math.Exp(d.between(math.Log(3), math.Log(200)))
	case bySun, nearFull, runDown:
		u.Irradiance = d.between(250, 1100)
	}
	switch m {
	case nearFull:
		u.SoC = 1 - 0.1*d.Float64()*d.Float64()
		u.LoadW *= d.Float64()
	case runDown:
		u.SoC = d.between(0.02, 0.2)
		u.Irradiance *= d.Float64()
	}
	rise := (s.Array.Module.NOCTC - 20) / 800 * u.Irradiance
	u.CellC = u.AirC + rise + d.between(-4, 4)
	u.IrradianceIsolated = u.Irradiance * d.between(0.9, 1.1)
	u.CellCIsolated = u.CellC + d.between(-3, 3)
	u.StepA = s.Battery.CapacityAh / d.between(8, 25)
	d.beyondPlates(s, &u)
	return u
}

// beyondPlates draws what a nameplate does not tell: cells and shunts that differ in weak
// light, where the plate leaves room for them, and an mppt controller that stands beside the
// best point and starts late.
func (d dice) beyondPlates(s *site.Site, u *plant.Unknowns) {
	if d.IntN(2) == 0 {
		tr := &trial{site: s, stc: plant.FitNameplate(s.Array.Module), u: *u}
		ideality, share := d.between(0.95, 1.25), math.Exp(d.between(math.Log(0.002), math.Log(0.03)))
		// Room for some resistance at the next ideality and shunt of plant's table too.
		const room, next = 0.02, 0.1
		m := s.Array.Module
		tr.u.Ideality, tr.u.ShuntShare = ideality+next, 2*share
		if fit, _ := tr.ofIdeality(); fit.Rs > room*(m.VocV-m.VmpV)/m.ImpA {
			u.Ideality, u.ShuntShare = ideality, share
		}
	}
	if s.Controller.Kind == site.MPPT {
		u.Track = d.between(-1, 1)
		u.StartW = s.Array.PowerW() * 0.005 * d.spread(3)
	}
}

// trial draws a whole trial with the given conditions at work.
func (d dice) trial(tb testing.TB, s *site.Site, m moment, ids ...condition.ID) *trial {
	tb.Helper()
	return d.trialOf(tb, s, d.unknowns(s, m), pick(d, 30.0, 60, 120), ids...)
}

// trialOf lets the conditions act on a plant of which the rest is known.
func (d dice) trialOf(tb testing.TB, s *site.Site, u plant.Unknowns, minutes float64, ids ...condition.ID) *trial {
	tb.Helper()
	text := siteFile(s)
	parsed, err := site.Parse("drawn.site.toml", text)
	require.NoError(tb, err, string(text))
	require.Equal(tb, s, parsed)
	tr := &trial{site: s, stc: plant.FitNameplate(s.Array.Module), ids: ids, u: u, minutes: minutes}
	for _, id := range ids {
		option := d.IntN(len(condition.Options(id, s)))
		condition.Disturb(id, s, &tr.u, d.Float64(), d.Float64(), option)
	}
	f := &tr.u.Fault
	if f.LeakA > 0 || f.ShadedGroups > 0 || f.BypassShorts > 0 { // there the referee finds only the best point
		tr.u.Track, tr.u.StartW = 0, 0
	}
	tr.about = fmt.Sprintf("%s %g V %s, %v, %.0f W/m2, charge %.2f", s.Controller.Kind, s.NominalV, s.Battery.Chemistry, ids, tr.u.Irradiance, tr.u.SoC)
	return tr
}

// siteFile writes a site as its file.
func siteFile(s *site.Site) []byte {
	var b strings.Builder
	line := func(format string, args ...any) { fmt.Fprintf(&b, format+"\n", args...) }
	line("name = %q\nnominal_v = %g", s.Name, s.NominalV)
	p := s.Place
	line("\n[place]\nlatitude_deg = %g\nlongitude_deg = %g\nutc_offset_h = %g\ntilt_deg = %g\nbearing_deg = %g",
		p.LatitudeDeg, p.LongitudeDeg, p.UTCOffsetH, p.TiltDeg, p.BearingDeg)
	a := s.Array
	line("\n[array]\nseries = %d\nstrings = %d\nfuse_a = %g\ncable_m = %g\ncable_mm2 = %g\ninstalled = %q",
		a.Series, a.Strings, a.FuseA, a.CableM, a.CableMM2, a.Installed)
	m := a.Module
	line("\n[array.module]\npmp_w = %g\nvmp_v = %g\nimp_a = %g\nvoc_v = %g\nisc_a = %g\ncells = %d\nbypass = %d\nisc_pct_per_c = %g\nvoc_pct_per_c = %g\nnoct_c = %g",
		m.PmpW, m.VmpV, m.ImpA, m.VocV, m.IscA, m.Cells, m.Bypass, m.IscPctPerC, m.VocPctPerC, m.NOCTC)
	c := s.Controller
	line("\n[controller]\nkind = %q\nrated_a = %g\nabsorb_v = %g\nfloat_v = %g\ncomp_mv_per_c_cell = %g\ncut_v = %g\nrestore_v = %g\nown_use_ma = %g\nload_output = %t",
		c.Kind, c.RatedA, c.AbsorbV, c.FloatV, c.CompMVPerCCell, c.CutV, c.RestoreV, c.OwnUseMA, c.LoadOutput)
	for _, lamp := range c.Lamps {
		line("\n[[controller.lamp]]\nlabel = %q", lamp.Label)
		for _, look := range lamp.Looks {
			means := fmt.Sprintf("%q", look.Means) // ["a" "b"]
			line("\n[[controller.lamp.look]]\nlook = %q\nmeans = %s", look.Look, strings.ReplaceAll(means, `" "`, `", "`))
			if look.Volts > 0 {
				line("volts = %g", look.Volts)
			}
			if look.VoltsTo > 0 {
				line("volts_to = %g", look.VoltsTo)
			}
		}
	}
	t := s.Battery
	line("\n[battery]\nchemistry = %q\ncapacity_ah = %g\nblocks = %d\ncells_per_block = %d\nfuse_a = %g\ncable_m = %g\ncable_mm2 = %g\ninstalled = %q",
		t.Chemistry, t.CapacityAh, t.Blocks, t.CellsPerBlock, t.FuseA, t.CableM, t.CableMM2, t.Installed)
	for _, l := range s.Loads {
		line("\n[[load]]\nlabel = %q\npower_w = %g\nhours_per_day = %g\npriority = %d", l.Label, l.PowerW, l.HoursPerDay, l.Priority)
	}
	w := s.LoadWiring
	line("\n[load_wiring]\nfuse_a = %g\ncable_m = %g\ncable_mm2 = %g", w.FuseA, w.CableM, w.CableMM2)
	return []byte(b.String())
}
