package plant

import (
	"math"

	"ampwalk/diagnose/site"
)

// protectionDrop is the voltage of a diode that conducts a reversed array [V]
// (common practice).
const protectionDrop = 0.7

// shortedDrop is what a shunt controller's switch leaves across a shorted
// array [V] (common practice: a MOSFET and its leads).
const shortedDrop = 0.1

// liveFrom is the share of the nominal voltage above which a controller takes
// its array terminals as live.
const liveFrom = 0.4

// loads is the load side: a wire, and loads at its far end.
type loads struct {
	on    bool
	watts float64
	shape float64
	line  float64 // [ohm]
	rated float64 // voltage at which watts are drawn [V]
	drain float64 // unlisted, at the near end [A]
}

// draw is the current taken at voltage v of the near end and the voltage at the
// far end.
func (l *loads) draw(v float64) (i, end float64) {
	if !l.on || v <= 0 {
		return 0, 0
	}
	drain := l.drain
	if v < 1 { // an unlisted draw needs a voltage to draw from
		drain *= v
	}
	if l.watts <= 0 {
		return drain, v
	}
	ohm := l.rated * l.rated / l.watts
	i = v / (l.line + ohm)
	if l.shape < 1 {
		// Constant power down to 60 % of the rated voltage, a resistor below.
		floor := 0.6 * l.rated
		far := v
		if d := v*v - 4*l.watts*l.line; d > 0 {
			far = (v + math.Sqrt(d)) / 2
		} else {
			far = 0
		}
		power := l.watts / far
		if far < floor {
			power = v / (l.line + floor*floor/l.watts)
		}
		i = l.shape*i + (1-l.shape)*power
	}
	return i + drain, v - i*l.line
}

// bus is the battery side of the controller: battery, cable, loads.
type bus struct {
	cell   cell
	n      float64 // cells that give voltage
	line   float64 // battery cable and joints [ohm]
	direct loads   // at the posts
	output loads   // at the load output
	own    float64 // the controller's own use [A]
	drain  float64 // at the controller's battery terminals [A]
}

// at works out the battery side for a main-reaction current m of the battery.
type point struct {
	eta, ib, post, direct, cable, vc, load, end, net float64
}

func (b *bus) at(m float64, p *point) {
	c := &b.cell
	if m >= 0 {
		p.eta = c.etaC * math.Asinh(m/c.i0C)
	} else {
		p.eta = -c.etaD * math.Asinh(-m/c.i0D)
	}
	p.ib = m
	if c.gasI > 0 && p.eta > 0 {
		p.ib += c.gasI * (math.Exp(min(c.gasK*(c.emf+p.eta-gasV), 60)) - math.Exp(c.gasK*(c.emf-gasV)))
	}
	p.post = b.n * (c.emf + p.eta + p.ib*c.ohm)
	p.direct, p.end = b.direct.draw(p.post)
	p.cable = p.ib + p.direct
	p.vc = p.post + p.cable*b.line
	p.load = 0
	if b.output.on {
		p.load, p.end = b.output.draw(p.vc)
	}
	p.net = p.cable + p.load + b.own + b.drain
}

// root finds where a falling f crosses zero, started at x0 with a first step
// dx, by bracketing and the Illinois rule; tol bounds the width.
func root(f func(float64) float64, x0, dx, tol float64) float64 {
	a, fa := x0, f(x0)
	if fa == 0 {
		return a
	}
	if fa < 0 {
		dx = -dx
	}
	b, fb := a, fa
	for range 60 {
		b = a + dx
		if fb = f(b); (fb > 0) != (fa > 0) {
			break
		}
		a, fa = b, fb
		dx *= 2.5
	}
	for range 100 {
		if math.Abs(b-a) < tol || fb == 0 {
			break
		}
		x := b - fb*(b-a)/(fb-fa)
		if !(x > min(a, b) && x < max(a, b)) {
			x = (a + b) / 2
		}
		fx := f(x)
		if (fx > 0) != (fb > 0) {
			a, fa = b, fb
		} else if fa *= 0.5; math.Abs(fx) > 0.5*math.Abs(fb) {
			fa *= 0.5
		}
		b, fb = x, fx
		if math.Abs(fx) < tol {
			break
		}
	}
	return b
}

const currentTol = 1e-7 // of a solved current [A]

// Solve works out every reading for the unknowns.
func (p *Plant) Solve(u *Unknowns, o *Out) {
	*o = Out{}
	s := solver{p: p, u: u, o: o, f: &u.Fault, site: p.site}
	s.array = p.arrayAt(u, u.Irradiance, u.CellC)
	s.prepare()
	s.found()
	s.isolated()
	s.rested()
	o.Daylight = u.Irradiance >= DaylightFrom
	v := &o.Value
	v[Irradiance], v[Irradiance2] = u.Irradiance, u.IrradianceIsolated
	v[ModuleC], v[ModuleC2] = u.CellC, u.CellCIsolated
	v[AirC], v[BatteryC] = u.AirC, u.BatteryC
	v[StepA] = u.StepA
}

// solver holds one solution under way.
type solver struct {
	p     *Plant
	u     *Unknowns
	o     *Out
	f     *Fault
	site  *site.Site
	array array
	bus   bus
	eta   float64 // overvoltage per cell as found [V]
	drop  float64 // the controller's switch [V]
	inner float64 // and its resistance [ohm]
	peakV float64 // maximum power at the controller's terminals, mppt
	peakI float64
	open  float64 // array's open-circuit voltage
}

func (s *solver) prepare() {
	p, u, f := s.p, s.u, s.f
	b := &s.bus
	b.cell = newCell(s.site.Battery.Chemistry, s.site.Battery.CapacityAh, u)
	b.n = p.cells - float64(f.ShortedCells)
	warm := 1 + copperPerC*(u.AirC-20)
	b.line = p.cables.battery*u.Cable*warm + u.BatteryJoint + f.BatteryJoint
	if !f.Dead {
		b.own = s.site.Controller.OwnUseMA / 1000 * u.OwnUse
	}
	l := loads{
		on:    true,
		watts: u.LoadW * f.load(),
		shape: u.LoadShape,
		line:  p.cables.load*u.Cable*warm + u.LoadJoint + f.LoadJoint,
		rated: s.site.NominalV,
	}
	if f.LoadOpen {
		l.watts = 0
	}
	if s.site.Controller.LoadOutput {
		if f.DrainAt == DrainLoads {
			l.drain = f.DrainA
		}
		b.output = l
	} else {
		if f.DrainAt == DrainLoads {
			l.drain = f.DrainA
		}
		b.direct = l
	}
	switch f.DrainAt {
	case DrainPosts:
		b.direct.on = true
		b.direct.drain += f.DrainA
		if s.site.Controller.LoadOutput {
			b.direct.watts, b.direct.rated = 0, s.site.NominalV
		}
	case DrainBus:
		b.drain = f.DrainA
	}
	s.drop, s.inner = u.DropV, u.DropOhm
	if f.LeakA > 0 {
		s.drop = 0
	}
	s.open = s.array.openVoltage()
	if s.site.Controller.Kind == site.MPPT && s.live() {
		s.peakV, s.peakI = s.array.maxPower()
	}
}

// live reports whether array and controller can work together at all.
func (s *solver) live() bool {
	return s.array.n > 0 && s.f.ArrayOpen == NotOpen && !s.f.Reversed && !s.f.Dead && !s.f.ChargeOpen
}

// direct is the array's current into a bus at vc when nothing is held back [A],
// at the battery side.
func (s *solver) direct(vc float64) float64 {
	if s.f.ArrayOpen != NotOpen || s.f.Reversed || s.f.Dead || s.f.ChargeOpen {
		return 0
	}
	if s.converts(vc) {
		return s.u.Efficiency * s.peakV * s.peakI / max(vc, 1)
	}
	i := s.array.current(vc+s.drop, s.inner)
	if s.f.LeakA == 0 {
		i = max(i, 0)
	}
	return i
}

// converts reports whether an mppt controller works as a converter at vc: the
// array's best point must lie above the battery.
func (s *solver) converts(vc float64) bool { return s.peakV > vc+0.5 }

// found solves the plant as it is found.
func (s *solver) found() {
	o, f := s.o, s.f
	if f.BatteryOpen || f.PackOff {
		s.withoutBattery()
		return
	}
	o.Powered = !f.Dead
	c := &s.site.Controller
	var pt point
	switch {
	case !c.LoadOutput:
		s.balance(&pt)
	case f.Dead || f.LoadOff:
		s.bus.output.on = false
		s.balance(&pt)
	default:
		// The output is live unless the battery is below the cut-off under
		// load, or has been and is not yet back at the reconnect voltage.
		s.balance(&pt)
		cut := pt.vc < c.CutV
		if !cut && s.u.LatchedOff {
			s.bus.output.on = false
			s.balance(&pt)
			if cut = pt.vc < c.RestoreV; !cut {
				s.bus.output.on = true
				s.balance(&pt)
			}
		} else if cut {
			s.bus.output.on = false
			s.balance(&pt)
		}
		o.LoadsCut, o.LoadsLive = cut, !cut
	}
	s.eta = pt.eta
	s.record(&pt)
}

// balance finds the operating point of bus and array and writes the array's
// readings.
func (s *solver) balance(pt *point) {
	b, o := &s.bus, s.o
	sp := s.setPoint()
	if s.live() && !s.f.ChargeStuck && s.open > sp {
		// Can the array hold the set-point?
		m := root(func(m float64) float64 { b.at(m, pt); return sp - pt.vc }, 0, 1, currentTol)
		b.at(m, pt)
		full := s.direct(sp)
		if need := pt.net; full > need {
			if need > 0 {
				s.hold(sp, need, full)
				return
			}
			// The battery stands above the set-point by itself.
			m := root(func(m float64) float64 { b.at(m, pt); return -pt.net }, 0, 1, currentTol)
			b.at(m, pt)
			s.hold(pt.vc, 0, full)
			return
		}
	}
	m := root(func(m float64) float64 { b.at(m, pt); return s.direct(pt.vc) - pt.net }, 0, 1, currentTol)
	b.at(m, pt)
	i := s.direct(pt.vc)
	o.Regulating, o.SpareW = false, 0
	o.Charging = i > chargingFrom && s.live()
	v := &o.Value
	switch {
	case s.f.ArrayOpen != NotOpen || s.f.Reversed || s.f.Dead || s.f.ChargeOpen:
		s.arrayAlone()
	case s.converts(pt.vc):
		v[ArrayV], v[ArrayA] = s.peakV, s.peakI
		v[ModuleV] = s.peakV + s.peakI*s.array.after
	case i == 0:
		s.arrayAlone()
	default:
		v[ArrayA] = i
		v[ArrayV] = pt.vc + s.drop + i*s.inner
		v[ModuleV] = v[ArrayV] + i*s.array.after
	}
}

func (s *solver) setPoint() float64 {
	return s.p.SetPoint(s.u.FloatStage, s.u.BatteryC) + s.u.SetPoint*s.p.scale12 + s.f.SetPointShift
}

// hold writes the array's readings while the controller holds the bus at vc
// with need [A] of the full [A] that the array would give.
func (s *solver) hold(vc, need, full float64) {
	o, v, a := s.o, &s.o.Value, &s.array
	o.Regulating = true
	o.Charging = need > chargingFrom
	o.SpareW = (full - need) * vc
	if s.converts(vc) {
		pv, pi := a.beyondPeak(need * vc / s.u.Efficiency)
		v[ArrayV], v[ArrayA] = pv, pi
		v[ModuleV] = pv + pi*a.after
		return
	}
	// A switch that is closed part of the time; a meter shows the mean.
	duty := need / full
	on := vc + s.drop + full*s.inner
	onModule := on + full*a.after
	if s.site.Controller.Kind == site.Shunt {
		short := a.current(shortedDrop, 0)
		v[ArrayA] = duty*full + (1-duty)*short
		v[ArrayV] = duty*on + (1-duty)*shortedDrop
		v[ModuleV] = duty*onModule + (1-duty)*(shortedDrop+short*a.after)
		return
	}
	v[ArrayA] = need
	v[ArrayV] = duty*on + (1-duty)*s.open
	v[ModuleV] = duty*onModule + (1-duty)*s.open
}

// arrayAlone writes the array's readings when it delivers nothing.
func (s *solver) arrayAlone() {
	v, o, f := &s.o.Value, s.o, s.f
	v[ArrayA], v[ArrayV], v[ModuleV] = 0, s.open, s.open
	switch {
	case f.ArrayOpen == BeforePlug:
		v[ArrayV], v[ModuleV] = 0, 0
		o.Floats[ArrayV], o.Floats[ModuleV] = true, true
	case f.ArrayOpen == AfterPlug:
		v[ArrayV] = 0
		o.Floats[ArrayV] = true
	case f.Reversed && s.u.Blocking && !f.Dead:
		i := max(0, s.array.current(protectionDrop, 0))
		v[ArrayV], v[ArrayA] = -min(protectionDrop, s.open), -i
		v[ModuleV] = min(protectionDrop+i*s.array.after, s.open)
	case f.Reversed:
		v[ArrayV] = -s.open
	}
}

// withoutBattery solves a controller that has no battery.
func (s *solver) withoutBattery() {
	o, f, b := s.o, s.f, &s.bus
	v := &o.Value
	sp := s.setPoint()
	if f.Dead || f.LoadOff {
		b.output.on = false
	}
	alone := false
	if s.u.RunsAlone && s.live() && s.open > sp {
		need, end := b.own+b.drain, 0.0
		var load float64
		if b.output.on {
			load, end = b.output.draw(sp)
			need += load
		} else if f.PackOff && b.direct.on {
			load, end = b.direct.draw(sp)
			need += load
		}
		if full := s.direct(sp); full > need {
			alone = true
			s.hold(sp, need, full)
			o.Powered, o.BusV, o.DrawA = true, sp, need
			o.LoadsLive = b.output.on
			v[BatteryV] = sp
			if f.PackOff {
				v[PostV] = sp
				if b.direct.on {
					v[LoadA], v[LoadEndV] = load, end
				}
			}
			if b.output.on {
				v[LoadV], v[LoadA], v[LoadEndV] = sp, load, end
			}
		}
	}
	if !alone {
		s.arrayAlone()
		o.Floats[BatteryV], o.Floats[LoadV], o.Floats[LoadEndV] = true, true, true
		if f.PackOff {
			o.Floats[PostV] = true
		}
	}
	if f.BatteryOpen { // the posts still feed what is wired to them
		var pt point
		out := b.output.on
		b.output.on = false
		m := root(func(m float64) float64 { b.at(m, &pt); return -pt.cable }, 0, 1, currentTol)
		b.at(m, &pt)
		b.output.on = out
		s.eta = pt.eta
		v[PostV], v[BatteryA] = pt.post, pt.ib
		if !s.site.Controller.LoadOutput && b.direct.on {
			v[LoadA], v[LoadEndV] = s.listedDraw(pt.direct), pt.end
			if f.LoadOpen {
				v[LoadEndV] = 0
				o.Floats[LoadEndV] = true
			}
			o.DrawA = pt.direct
		}
	}
	o.ArrayLive = o.Powered && v[ArrayV] > liveFrom*s.site.NominalV
}

// listedDraw takes an unlisted draw at the posts out of what the direct loads
// take, since the clamp on the load wire does not see it.
func (s *solver) listedDraw(i float64) float64 {
	if s.f.DrainAt == DrainPosts {
		return i - s.f.DrainA
	}
	return i
}

// record writes the battery side's readings.
func (s *solver) record(pt *point) {
	o, f, b := s.o, s.f, &s.bus
	v := &o.Value
	v[BatteryV], v[PostV], v[BatteryA] = pt.vc, pt.post, pt.ib
	o.BusV = pt.vc
	o.DrawA = pt.load + pt.direct + b.own + b.drain
	o.ArrayLive = o.Powered && v[ArrayV] > liveFrom*s.site.NominalV
	if s.site.Controller.LoadOutput {
		if b.output.on {
			v[LoadV], v[LoadA], v[LoadEndV] = pt.vc, pt.load, pt.end
		} else {
			o.Floats[LoadV], o.Floats[LoadEndV] = true, true
		}
	} else {
		v[LoadA], v[LoadEndV] = s.listedDraw(pt.direct), pt.end
		o.LoadsLive = true
	}
	if f.LoadOpen {
		v[LoadEndV] = 0
		o.Floats[LoadEndV] = true
	}
}

// isolated writes the readings with the array's plug open.
func (s *solver) isolated() {
	u, f, o, b := s.u, s.f, s.o, &s.bus
	v := &o.Value
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
		v[StandbyA] = b.own + drain
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

// rested writes the readings of the rested battery and of the load step.
func (s *solver) rested() {
	u, f, o, b := s.u, s.f, s.o, &s.bus
	v := &o.Value
	c := &b.cell
	left := s.eta * u.Surface * math.Exp(-s.p.minutes/u.Decay)
	rest := c.emf + left
	per := float64(s.site.Battery.CellsPerBlock)
	v[RestV] = b.n * rest
	v[BlockRest] = per * rest
	v[BlockLow] = v[BlockRest] - float64(f.ShortedCells)*rest
	g := SpecificGravity(RestVoltage(s.site.Battery.Chemistry, u.SoC, u.RestMix, u.RestShift)) +
		u.Gravity - GravityPerC*(u.BatteryC-refC)
	v[GravityRest], v[GravityLow] = g, g
	if f.ShortedCells > 0 { // its acid goes with its charge
		v[GravityLow] = g - 0.07
	}
	v[StepPostV] = b.n * (rest - u.StepA*c.ohm - u.OneMinute*c.discharge(u.StepA))
	if f.PackOff {
		for _, k := range [...]Index{RestV, BlockLow, BlockRest, StepPostV} {
			v[k] = 0
			o.Floats[k] = true
		}
		v[StepA] = 0
	}
}

// HoursToCut is how long the battery carries the present draw without sun until
// the load cut-off [h], at most 240.
func (p *Plant) HoursToCut(u *Unknowns, o *Out) float64 {
	const longest = 240
	if o.DrawA <= 0 {
		return longest
	}
	c := newCell(p.site.Battery.Chemistry, p.site.Battery.CapacityAh, u)
	n := p.cells - float64(u.Fault.ShortedCells)
	sag := c.discharge(o.DrawA) + o.DrawA*c.ohm
	lo, hi := 0.0, 1.0
	for range 20 {
		mid := (lo + hi) / 2
		if n*(RestVoltage(p.site.Battery.Chemistry, mid, u.RestMix, u.RestShift)-sag) < p.site.Controller.CutV {
			lo = mid
		} else {
			hi = mid
		}
	}
	return min(longest, max(0, u.SoC-lo)*c.ahCharge/o.DrawA)
}
