package plant

// A Flow is where the power of one moment comes from and where it goes [W]. In and Mains
// are the sum of all the others.
type Flow struct {
	In     float64 // from the array, at the controller's battery side; below 0: a leak takes it back
	Mains  float64 // from a charger
	Loads  float64 // at the listed loads' own terminals
	Own    float64 // the controller's and the inverter's
	Drain  float64 // unlisted draws
	Wires  float64 // battery cable, load wiring and their joints
	Stored float64 // by the main reaction of the cells; below 0: drawn from it
	Heat   float64 // overvoltage and resistance of the cells
	Gas    float64 // gassing, that of a battery at rest among it

	// ChargeA is the current of the main reaction, by which the charge changes [A]. It is
	// less than the battery's own by what gasses; a battery at rest discharges itself.
	ChargeA float64
	CellsV  float64 // rest voltage of the cells that give any [V]
}

// Flow works out the plant as it is found, without the tests of [Plant.Solve], and where
// its power goes.
func (p *Plant) Flow(u *Unknowns, o *Out, f *Flow) {
	s := solver{p: p, u: u, o: o, f: &u.Fault, site: p.site}
	s.asFound()
	s.flow(f)
}

func (s *solver) flow(f *Flow) {
	*f = Flow{}
	b, c, pt := &s.bus, &s.bus.cell, &s.pt
	open := s.f.BatteryOpen || s.f.PackOff
	if !s.f.PackOff {
		ib := pt.ib - pt.odd
		main := pt.m - c.gasRest
		gas := ib - main
		f.ChargeA, f.CellsV = main, b.n*c.emf
		f.cells(c, b.n-b.weakN, pt.eta, main, ib)
		if b.weakN > 0 {
			eta, _, _, _ := b.weak.main(pt.m)
			f.cells(&b.weak, b.weakN, eta, main, main+gas)
		}
		if o := &b.odd; o.n > 0 {
			eta, _, amps, _ := o.cell.main(o.m)
			f.cells(&o.cell, o.n, eta, o.m-o.cell.gasRest, amps)
			f.ChargeA += o.m - o.cell.gasRest
		}
		f.Wires = pt.cable * pt.cable * b.line
		f.Mains = pt.mains * pt.post
	}
	v, direct := pt.vc, pt.post
	if open {
		v = s.alone
		if s.f.PackOff {
			direct = s.alone
		}
	}
	f.In = s.in * v
	if v > 0 {
		f.Own, f.Drain = v*b.own, v*b.drain
	}
	s.taken(f, &b.output, v)
	s.taken(f, &b.direct, direct)
	if b.inverter.on {
		at := direct
		if b.atOutput {
			at = v
		}
		loads := f.Loads
		s.taken(f, &b.inverter, at)
		took := f.Loads - loads
		gave := 0.0
		if s.o.InverterRuns {
			gave = min(took, s.u.InverterW*s.f.load())
		}
		f.Loads, f.Own = loads+gave, f.Own+took-gave
	}
}

// cells adds n cells in series that carry i, of which main is the main reaction's.
func (f *Flow) cells(c *cell, n, eta, main, i float64) {
	f.Stored += n * c.emf * main
	f.Heat += n * (eta*main + c.ohm*i*i)
	f.Gas += n * (c.emf + eta) * (i - main)
}

// taken adds what loads take at v.
func (s *solver) taken(f *Flow, l *loads, v float64) {
	if !l.on || v <= 0 {
		return
	}
	i, _, end := l.draw(v)
	drain := l.drain
	if v < 1 {
		drain *= v
	}
	f.Drain += v * drain
	f.Loads += end * (i - drain)
	f.Wires += (v - end) * (i - drain)
}

// PerHour is by how much of the present capacity the charge changes in an hour at a
// main-reaction current [A]; above the rated current a discharge takes its toll by
// Peukert's rule, one below it brings nothing. Toll is the part of it that gives nothing.
func (p *Plant) PerHour(u *Unknowns, chargeA float64) (rate, toll float64) {
	ah := p.CapacityAh(u)
	plain := chargeA / ah
	if -plain*rateHours <= 1 || u.Peukert <= 1 {
		return plain, 0
	}
	rate = -1 / Peukert(ah, rateHours, u.Peukert, -chargeA)
	return rate, rate - plain
}

// CapacityAh is what the battery holds today [Ah].
func (p *Plant) CapacityAh(u *Unknowns) float64 {
	return p.site.Battery.CapacityAh * u.Capacity * u.Fault.capacity() * p.kept(u)
}

// kept is the part of the battery's strings that are not open.
func (p *Plant) kept(u *Unknowns) float64 {
	n := float64(p.site.Battery.Parallel())
	return (n - float64(u.Fault.StringsLost)) / n
}

// CutAt is the charge at which the controller cuts the loads off while the battery gives
// a current [A]: 0 where nothing cuts them, 1 where they are always off.
func (p *Plant) CutAt(u *Unknowns, amps float64) float64 {
	if !p.site.Controller.LoadOutput {
		return 0
	}
	at := *u
	n := p.cells - float64(u.Fault.ShortedCells)
	line := p.cables.battery*u.Cable*(1+copperPerC*(u.AirC-20)) + u.BatteryJoint + u.Fault.BatteryJoint
	lo, hi := 0.0, 1.0
	for range 14 { // to a ten-thousandth
		at.SoC = (lo + hi) / 2
		c := newCell(p.site.Battery.Chemistry, p.site.Battery.CapacityAh*p.kept(u), &at, at.SoC, u.Fault.ohm())
		if n*(c.emf-c.discharge(amps)-amps*c.ohm)-amps*line < p.site.Controller.CutV {
			lo = at.SoC
		} else {
			hi = at.SoC
		}
	}
	return hi
}

// longestHours is the most that [Plant.HoursToCut] gives [h].
const longestHours = 240

// HoursToCut is how long the battery carries the present draw without sun until
// the load cut-off [h], at most 240; 0 where it carries no load because of a fault or
// because they are cut off.
func (p *Plant) HoursToCut(u *Unknowns, o *Out) float64 {
	f := &u.Fault
	switch {
	case f.BatteryOpen, f.PackOff, f.LoadOpen, o.LoadsCut,
		(f.Dead || f.LoadOff) && p.site.Controller.LoadOutput:
		return 0
	case o.DrawA <= 0:
		return longestHours
	}
	left := u.SoC - p.CutAt(u, o.DrawA)
	if left <= 0 {
		return 0
	}
	rate, _ := p.PerHour(u, -o.DrawA)
	return min(longestHours, left/-rate)
}
