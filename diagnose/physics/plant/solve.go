package plant

import (
	"math"

	"ampwalk/diagnose/physics/site"
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

// staysOnBelow is how far below the cut-off a live output is a fault and no spread of the
// set-point, at 12 V [V] (formats of conditions).
const staysOnBelow = 0.3

// Solve works out every reading for the unknowns.
func (p *Plant) Solve(u *Unknowns, o *Out) {
	s := solver{p: p, u: u, o: o, f: &u.Fault, site: p.site}
	s.asFound()
	s.isolated()
	s.rested()
	s.closedKit()
}

// asFound works out what does not need anything isolated or rested.
func (s *solver) asFound() {
	u, o := s.u, s.o
	*o = Out{Misfit: u.Misfit, DeadLoad: u.Fault.DeadLoad}
	s.array = s.p.arrayAt(u, u.Irradiance, u.CellC)
	s.prepare()
	s.found()
	o.Daylight = u.Irradiance >= DaylightFrom
	v := &o.Value
	v[Irradiance], v[ModuleC] = u.Irradiance, u.CellC
	v[AirC], v[BatteryC] = u.AirC, u.BatteryC
	v[PackPercent] = 100 * min(max(u.SoC, 0), 1)
}

// SolveTests works out again only the isolated, rested and load-step readings
// of an Out solved before, for unknowns that act on nothing else: the light and
// cell temperature of the isolated tests, and how a battery rests.
func (p *Plant) SolveTests(u *Unknowns, o *Out) {
	s := solver{p: p, u: u, o: o, f: &u.Fault, site: p.site}
	s.battery()
	s.isolated()
	s.rested()
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
	drop  float64 // the controller's switch [V]
	inner float64 // and its resistance [ohm]
	peakV float64 // where an mppt controller keeps the array, at its terminals
	peakI float64
	// An mppt controller that has not started for want of light.
	asleep bool

	pt    point   // where the battery side was found
	in    float64 // what the array brings at the controller's battery side [A]
	alone float64 // the voltage at which a controller without a battery runs [V]; 0: it does not
}

// battery makes the cells ready.
func (s *solver) battery() {
	u, f, b, bus := s.u, s.f, &s.site.Battery, &s.bus
	strings := float64(b.Parallel() - f.StringsLost) // that are not open
	ah, wear := b.CapacityAh*s.p.kept(u), f.ohm()
	bus.n = s.p.cells
	soc := u.SoC
	switch {
	case f.ShortedCells > 0 && strings > 1:
		part := ah / strings
		ah -= part
		bus.odd = oddString{cell: newCell(b.Chemistry, part, u, soc, wear), n: s.p.cells - float64(f.ShortedCells)}
	case f.ShortedCells > 0:
		bus.n -= float64(f.ShortedCells)
	case f.WeakX > 0:
		// The weak block is what empties first, so the charge is its own; its neighbours
		// have given as many ampere-hours of more.
		bus.weak = newCell(b.Chemistry, ah, u, soc, f.WeakX)
		soc = 1 - (1-soc)*f.capacity()
		if strings == 1 {
			bus.weakN = float64(b.CellsPerBlock)
		} else {
			wear = strings / (strings - 1 + 1/s.weakShare())
		}
	}
	bus.cell = newCell(b.Chemistry, ah, u, soc, wear)
	if !s.f.Dead {
		s.bus.own = s.site.Controller.OwnUseMA / 1000 * s.u.OwnUse
	}
}

// prepare makes everything ready that does not depend on the operating point.
func (s *solver) prepare() {
	p, u, f := s.p, s.u, s.f
	b := &s.bus
	s.battery()
	warm := 1 + copperPerC*(u.AirC-20)
	b.line = p.cables.battery*u.Cable*warm + u.BatteryJoint + f.BatteryJoint
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
	if f.DrainAt == DrainLoads {
		l.drain = f.DrainA
	}
	if s.site.Controller.LoadOutput {
		b.output = l
		if u.BesideW > 0 { // on wires like those of the others
			l.watts, l.drain, l.line = u.BesideW*f.load(), 0, p.cables.load*u.Cable*warm+u.LoadJoint
			b.direct = l
		}
	} else {
		b.direct = l
	}
	switch f.DrainAt {
	case DrainPosts:
		b.direct.on, b.direct.rated = true, s.site.NominalV
		b.direct.drain += f.DrainA
	case DrainBus:
		b.drain = f.DrainA
	}
	s.prepareParts(warm)
	s.drop, s.inner = u.DropV, u.DropOhm
	if s.site.Controller.Kind == site.MPPT && s.live() {
		s.peakV, s.peakI = s.array.maxPower()
		if s.peakV*s.peakI < u.StartW {
			s.asleep, s.peakV, s.peakI = true, 0, 0
		} else if u.Track != 0 {
			if v, i, ok := s.array.besidePeak(u.Track); ok {
				s.peakV, s.peakI = v, i
			}
		}
	}
}

// live reports whether array and controller can work together at all.
func (s *solver) live() bool {
	return s.array.n > 0 && s.f.ArrayOpen == NotOpen && !s.f.ArrayShort && !s.f.Reversed && !s.f.Dead && !s.f.ChargeOpen
}

// direct is the array's current into a bus at vc when nothing is held back [A],
// at the battery side.
func (s *solver) direct(vc float64) float64 {
	if s.converts(vc) {
		return s.u.Efficiency * s.peakV * s.peakI / max(vc, 1)
	}
	return max(0, s.array.current(vc+s.drop, s.inner))
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
		s.settle(&pt)
	case f.Dead || f.LoadOff || s.u.Locked:
		o.Locked = s.u.Locked && !f.Dead
		s.bus.output.on = false
		s.settle(&pt)
	case f.NoCut:
		s.settle(&pt)
		o.LoadsLive, o.StaysOn = true, pt.vc < c.CutV-staysOnBelow*s.p.scale12
	default:
		// The output is live unless the battery is below the cut-off under
		// load, or has been and is not yet back at the reconnect voltage.
		s.settle(&pt)
		cut := pt.vc < c.CutV
		if !cut && s.u.LatchedOff {
			s.bus.output.on = false
			s.settle(&pt)
			if cut = pt.vc < c.RestoreV; !cut {
				s.bus.output.on = true
				s.settle(&pt)
			}
		} else if cut {
			s.bus.output.on = false
			s.settle(&pt)
		}
		o.LoadsCut, o.LoadsLive = cut, !cut
	}
	s.o.eta = pt.eta
	s.record(&pt)
	s.pt = pt
}

// balance finds the operating point of bus and array and writes the array's
// readings; of the battery alone where it is cut off from the controller.
func (s *solver) balance(pt *point) {
	b, o := &s.bus, s.o
	if s.f.BatteryOpen {
		b.balanceAt(pt, 0)
		return
	}
	v := &o.Value
	o.Regulating, o.Charging, o.SpareW = false, false, 0
	s.in = 0
	if !s.live() {
		b.balanceAt(pt, 0)
		s.arrayAlone()
		return
	}
	if s.asleep {
		b.balanceAt(pt, 0)
		s.through(pt, s.backward(pt))
		return
	}
	// Where all that the light can give would lift the bus past the set-point, it
	// is mostly held there: a look that saves another.
	sp := s.setPoint()
	converting := s.converts(b.n * b.cell.emf)
	power := s.u.Efficiency * s.peakV * s.peakI
	if converting {
		b.at(power/(b.n*b.cell.emf), pt)
	} else {
		b.flood(pt, &s.array, s.drop)
	}
	if pt.vc > sp && !s.f.ChargeStuck {
		b.holdAt(pt, sp)
		if full := s.direct(sp); pt.net > 0 && full > pt.net {
			s.hold(sp, pt.net, full)
			return
		}
	}
	var i float64
	if converting {
		b.feedAt(pt, power)
		i = pt.net
		converting = s.converts(pt.vc)
	}
	if !converting {
		if i = b.connect(pt, &s.array, s.drop, s.inner); i < 0 {
			i = s.backward(pt)
		}
	}
	if pt.vc > sp && s.array.openVoltage() > sp && !s.f.ChargeStuck {
		b.holdAt(pt, sp)
		full := s.direct(sp)
		if pt.net > 0 {
			s.hold(sp, pt.net, full)
			return
		}
		b.balanceAt(pt, 0) // the battery stands above the set-point by itself
		s.hold(pt.vc, 0, full)
		return
	}
	if !converting {
		s.through(pt, i)
		return
	}
	o.Charging = i > chargingFrom
	s.in = power / max(pt.vc, 1)
	v[ArrayV], v[ArrayA] = s.peakV, s.peakI
	v[ModuleV] = s.peakV + s.peakI*s.array.after
}

// through writes the array's readings where its current i flows into the bus as it is.
func (s *solver) through(pt *point, i float64) {
	v := &s.o.Value
	s.o.Charging = i > chargingFrom
	s.in = i
	if i == 0 {
		s.arrayAlone()
		return
	}
	v[ArrayA] = i
	v[ArrayV] = pt.vc + math.Copysign(s.drop, i) + i*s.inner
	v[ModuleV] = v[ArrayV] + i*s.array.after
}

// backward is the current of an array that stands below the battery: none, or
// through a failed blocking part, whose drop then counts the other way, what
// the leak takes.
func (s *solver) backward(pt *point) (i float64) {
	if s.f.LeakA > 0 {
		if i = s.bus.connect(pt, &s.array, -s.drop, s.inner); i < 0 {
			return i
		}
	}
	s.bus.balanceAt(pt, 0)
	return 0
}

func (s *solver) setPoint() float64 {
	if v := s.site.Battery.EqualiseV; s.u.Equalising && v > 0 {
		return v + s.p.SetPoint(false, s.u.BatteryC) - s.site.Controller.AbsorbV + s.u.SetPoint*s.p.scale12 + s.f.SetPointShift
	}
	return s.p.SetPoint(s.u.FloatStage, s.u.BatteryC) + s.u.SetPoint*s.p.scale12 + s.f.SetPointShift
}

// hold writes the array's readings while the controller holds the bus at vc
// with need [A] of the full [A] that the array would give.
func (s *solver) hold(vc, need, full float64) {
	o, v, a := s.o, &s.o.Value, &s.array
	o.Regulating = true
	o.Charging = need > chargingFrom
	s.in = need
	o.SpareW = (full - need) * vc
	if s.converts(vc) {
		pv, pi := a.beyondPeak(need * vc / s.u.Efficiency)
		v[ArrayV], v[ArrayA] = pv, pi
		v[ModuleV] = pv + pi*a.after
		return
	}
	// A switch that is closed part of the time; a meter shows the mean. While it
	// is closed the bus stands above its mean by what the pulse drops over the
	// fast resistance.
	fast := s.fast()
	on, duty := 0.0, 0.0
	if need > 0 {
		on = a.current(vc-need*fast+s.drop, s.inner+fast)
		duty = min(need/on, 1)
	}
	onV := vc + (on-need)*fast + s.drop + on*s.inner
	off, offA := a.openVoltage(), 0.0
	if s.site.Controller.Kind == site.Shunt {
		off, offA = shortedDrop, a.current(shortedDrop, 0)
	}
	v[ArrayA] = duty*on + (1-duty)*offA
	v[ArrayV] = duty*onV + (1-duty)*off
	v[ModuleV] = v[ArrayV] + v[ArrayA]*a.after
}

// fast is the resistance of the battery side to a pulse [ohm]: the wire and the
// ohmic part of the cells. The overvoltages follow the mean current only, since
// the double layer, tens of farads a cell (from memory), carries the pulses.
func (s *solver) fast() float64 {
	if s.f.BatteryOpen || s.f.PackOff {
		return 0
	}
	return s.bus.line + s.bus.n*s.bus.cell.ohm
}

// arrayAlone writes the array's readings when it delivers nothing.
func (s *solver) arrayAlone() {
	v, o, f := &s.o.Value, s.o, s.f
	open := s.array.openVoltage()
	v[ArrayA], v[ArrayV], v[ModuleV] = 0, open, open
	switch {
	case f.ArrayOpen == BeforePlug:
		v[ArrayV], v[ModuleV] = 0, 0
		o.Floats[ArrayV], o.Floats[ModuleV] = true, true
	case f.ArrayShort: // at the plug stands what the cable drops up to the short
		along := max(1e-4, f.ShortAt*s.array.after)
		at := s.array
		at.after = along
		v[ArrayV], v[ModuleV] = 0, max(0, at.current(0, 0))*along
	case f.ArrayOpen == AfterPlug:
		v[ArrayV] = 0
		o.Floats[ArrayV] = true
	case f.Reversed && s.u.Blocking && !f.Dead:
		i := max(0, s.array.current(protectionDrop, 0))
		v[ArrayV], v[ArrayA] = -min(protectionDrop, open), -i
		v[ModuleV] = min(protectionDrop+i*s.array.after, open)
	case f.Reversed:
		v[ArrayV] = -open
	}
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
	if b.inverter.on && !b.atOutput {
		o.DrawA += pt.inverter
	}
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
	s.recordParts(pt)
}
