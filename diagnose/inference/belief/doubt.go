package belief

import (
	"fmt"
	"math"
	"slices"

	"ampwalk/diagnose/physics/site"
)

// spreads are the standard deviations of the parts' coordinates. They are those
// of ordinary parts, wider where a figure of the site file was assumed.
type spreads struct {
	cell                   float64 // [K]
	current, voltage       float64 // of the module, relative
	cable, ownUse          float64 // of logarithms
	load, ohm, capacity    float64
	setPoint, setPointMost float64 // at 12 V [V]
}

const (
	// inNineOfTen is how many deviations hold nine in ten of a normal spread.
	inNineOfTen = 1.645
	// fromNameplateK is how far a module in the sun, and batteryFromNameplateK
	// a battery, is from the 25 °C of nameplates (judgement).
	fromNameplateK        = 25
	batteryFromNameplateK = 10
)

// spreadsOf widens the spreads by the doubts of the site file. Figures that were
// derived from each other carry the same doubt, which counts once.
func spreadsOf(s *site.Site, loadsOn []string) spreads {
	w := spreads{
		cell: cellSpread, current: currentSpread, voltage: voltageSpread, cable: cableSpread, ownUse: ownUseSpread,
		load: loadSpread, ohm: ohmSpread, setPoint: setPointSpread, setPointMost: setPointMost,
	}
	if s.Doubts == nil {
		return w
	}
	// of is the deviation of an assumed figure, times scale.
	of := func(path string, scale float64) float64 { return s.Doubts[path] / inNineOfTen * scale }
	m, c, b := s.Array.Module, s.Controller, s.Battery

	w.cell = math.Hypot(w.cell, of("array.module.noct_c", 1))
	w.current = hypot(w.current, max(of("array.module.isc_a", 1/m.IscA), of("array.module.imp_a", 1/m.ImpA)),
		of("array.module.isc_pct_per_c", fromNameplateK/100.))
	w.voltage = hypot(w.voltage, max(of("array.module.voc_v", 1/m.VocV), of("array.module.vmp_v", 1/m.VmpV)),
		of("array.module.voc_pct_per_c", fromNameplateK/100.))
	w.cable = hypot(w.cable, max(
		math.Hypot(of("array.cable_m", 1/s.Array.CableM), of("array.cable_mm2", 1/s.Array.CableMM2)),
		math.Hypot(of("battery.cable_m", 1/b.CableM), of("battery.cable_mm2", 1/b.CableMM2)),
		math.Hypot(of("load_wiring.cable_m", 1/s.LoadWiring.CableM), of("load_wiring.cable_mm2", 1/s.LoadWiring.CableMM2))))
	if c.OwnUseMA > 0 {
		w.ownUse = math.Hypot(w.ownUse, of("controller.own_use_ma", 1/c.OwnUseMA))
	}

	scale12 := s.NominalV / 12
	setPoint := hypot(max(of("controller.absorb_v", 1/scale12), of("controller.float_v", 1/scale12)),
		of("controller.comp_mv_per_c_cell", batteryFromNameplateK*float64(b.Cells())/1000/scale12))
	w.setPoint = math.Hypot(w.setPoint, setPoint)
	w.setPointMost += inNineOfTen * setPoint

	// A battery smaller than assumed has less to give and more resistance.
	w.capacity = of("battery.capacity_ah", 1/b.CapacityAh)
	w.ohm = math.Hypot(w.ohm, w.capacity)

	var watts, squares float64
	for i, l := range s.Loads {
		if loadsOn == nil || slices.Contains(loadsOn, l.Label) {
			watts += l.PowerW
			squares = math.Hypot(squares, of(fmt.Sprintf("load.%d.power_w", i), 1))
		}
	}
	if watts > 0 {
		w.load = math.Hypot(w.load, squares/watts)
	}
	return w
}

func hypot(xs ...float64) (sum float64) {
	for _, x := range xs {
		sum = math.Hypot(sum, x)
	}
	return sum
}

// withCutDoubt is the site with the hysteresis of its load output as wide as the
// voltages of cut-off and reconnect may lie apart where they were assumed: in
// between the output may be on or off.
func withCutDoubt(s *site.Site) *site.Site {
	cut, restore := s.Doubts["controller.cut_v"], s.Doubts["controller.restore_v"]
	if cut == 0 && restore == 0 {
		return s
	}
	wide := *s
	wide.Controller.CutV -= cut
	wide.Controller.RestoreV += restore
	return &wide
}
