package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/site"
)

// isolated writes the readings with the array's plug open.
func (s *solver) isolated() {
	u, f, o, b := s.u, s.f, s.o, &s.bus
	v := &o.Value
	v[Irradiance2], v[ModuleC2] = u.IrradianceIsolated, u.CellCIsolated
	// Own use and unlisted draws, taken from the battery; + out of it.
	drain := f.DrainA
	if f.DrainAt == DrainLoads && s.site.Controller.LoadOutput && !o.LoadsLive {
		drain = 0
	}
	switch {
	case f.PackOff:
		v[StandbyA] = 0
	case f.BatteryOpen:
		if f.DrainAt == DrainPosts || f.DrainAt == DrainLoads && !s.site.Controller.LoadOutput {
			v[StandbyA] = drain
		}
	default:
		v[StandbyA] = b.own + drain + s.leftOn() + s.earthLeak()
	}
	if f.ArrayShort {
		return
	}
	if f.ArrayOpen != NotOpen { // taken at the controller's end
		o.Floats[OpenV] = true
		return
	}
	a := s.p.arrayAt(u, u.IrradianceIsolated, u.CellCIsolated)
	sign := 1.0
	if f.Reversed {
		sign = -1
	}
	v[OpenV] = sign * a.openVoltage()
	v[ShortA] = sign * max(0, a.current(0, 0))
}

// leftOn is what an inverter that was left on draws with every load off [A].
func (s *solver) leftOn() float64 {
	i := s.site.Inverter
	if i == nil || !s.u.InverterLeftOn || s.f.InverterOff || i.From == site.FromOutput && !s.o.LoadsLive || s.o.InverterLow {
		return 0
	}
	return i.IdleW * s.u.Inverter / s.site.NominalV
}

// rested writes the readings of the rested battery and of the load step.
func (s *solver) rested() {
	u, f, o, b := s.u, s.f, s.o, &s.bus
	v := &o.Value
	v[StepA] = u.StepA
	c := &b.cell
	left := o.eta * u.Surface * math.Exp(-s.p.minutes/u.Decay)
	rest := c.emf + left
	per := float64(s.site.Battery.CellsPerBlock)
	under := func(c *cell, rest, i float64) float64 {
		return rest - max(left, 0)*u.Taken*surfaceTaken(i/s.site.Battery.CapacityAh) - i*c.ohm - u.OneMinute*c.discharge(i)
	}

	v[RestV], v[StepPostV] = b.n*rest, b.n*under(c, rest, u.StepA)
	v[BlockRest], v[StepBlockRest] = per*rest, per*under(c, rest, u.StepA)
	short := float64(f.ShortedCells)
	v[BlockLow], v[StepBlockLow] = (per-short)*rest, (per-short)*under(c, rest, u.StepA)
	switch {
	case b.odd.n > 0: // the other strings discharge into it
		s.restTogether(left)
	case f.WeakX > 0 && short == 0:
		w, through := &b.weak, u.StepA
		weak := w.emf + left
		if b.weakN == 0 { // in one of several strings, which takes the lesser part
			n, share := float64(s.site.Battery.Parallel()-f.StringsLost), 1/s.weakShare()
			through *= share * n / (n - 1 + share)
		}
		v[BlockLow], v[StepBlockLow] = per*weak, per*under(w, weak, through)
		v[RestV] += b.weakN * (weak - rest)
		v[StepPostV] += b.weakN * (under(w, weak, u.StepA) - under(c, rest, u.StepA))
	}
	g := SpecificGravity(c.emf) +
		u.Gravity - GravityPerC*(u.BatteryC-refC) + f.AcidGained
	v[GravityRest], v[GravityLow] = g, g
	if f.ShortedCells > 0 { // its acid goes with its charge
		v[GravityLow] = g - f.AcidLost
	}
	if f.PackOff {
		for _, k := range [...]Index{RestV, BlockLow, BlockRest, StepPostV, StepBlockLow, StepBlockRest} {
			v[k] = 0
			o.Floats[k] = true
		}
		v[StepA] = 0
	}
}

// surfaceX is the current per capacity that takes two thirds of the surface charge away in
// the minute of a load step [1/h].
//
// Source: eight discharges of a full 17 Ah VRLA (testdata/measured_load_step.csv): at C/32
// two thirds of it were gone after a minute, from C/11 up all of it.
const surfaceX = 0.03

// surfaceTaken is the part of the surface charge that is gone after a minute at a current
// per capacity x [1/h].
func surfaceTaken(x float64) float64 { return 1 - fastmath.Exp(-max(x, 0)/surfaceX) }

// restTogether writes the rest of strings of which one has a shorted cell: the others
// discharge into it until the voltages agree.
func (s *solver) restTogether(left float64) {
	v, b := &s.o.Value, &s.bus
	alone := bus{cell: b.cell, n: b.n, odd: b.odd}
	var pt point
	alone.balanceAt(&pt, 0)
	down := b.n*(b.cell.emf+left) - (pt.post + b.n*left)
	per := float64(s.site.Battery.CellsPerBlock)
	short := float64(s.f.ShortedCells)
	for _, k := range [...]struct{ whole, low, rest Index }{{RestV, BlockLow, BlockRest}, {StepPostV, StepBlockLow, StepBlockRest}} {
		v[k.whole] -= down
		v[k.rest] = per * v[k.whole] / b.n
		v[k.low] = (per - short) * v[k.whole] / b.odd.n
	}
}
