package plant

import (
	"math"

	"ampwalk/diagnose/physics/site"
)

// A charger feeds the posts from mains or a generator: all that it has, up to its set-point.
type charger struct {
	most float64 // [A]; 0: it is off, or there is none
	hold float64 // set-point [V]
	soft float64 // over which it goes from nothing to all [V]
}

// chargerSoft is over how many volts a charger takes its current back, at 12 V (judgement).
const chargerSoft = 0.05

// gives is the current at the voltage v of the posts [A], and its slope.
func (c *charger) gives(v float64) (i, didv float64) {
	part := (c.hold - v) / c.soft
	switch {
	case part <= 0:
		return 0, 0
	case part >= 1:
		return c.most, 0
	}
	return c.most * part, -c.most / c.soft
}

// An oddString is a string of a battery that has fewer cells than its neighbours.
type oddString struct {
	cell cell
	n    float64 // cells that give voltage; 0: there is no such string
	m    float64 // main-reaction current of the last solution
}

// current is the string's current at the voltage v of the posts [A], and its slope.
func (o *oddString) current(v float64) (i, didv float64) {
	lo, hi := math.Inf(-1), math.Inf(1)
	c, m := &o.cell, o.m
	for range 60 {
		eta, deta, amps, di := c.main(m)
		y := o.n*(c.emf+eta+amps*c.ohm) - v
		slope := o.n * (deta + di*c.ohm)
		i, didv = amps, di/slope
		if math.Abs(y) < voltageTol {
			break
		}
		if y > 0 {
			hi = m
		} else {
			lo = m
		}
		reach := 2 * (1 + math.Abs(m))
		next := m - min(max(y/slope, -reach), reach)
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		m = next
	}
	o.m = m
	return i, didv
}

// What an inverter does (judgement; common practice).
const (
	overloadFrom = 1.25 // times its rated power it gives no longer
	standbyShare = 0.1  // of its idle power that one draws which gives nothing
)

// prepareParts makes the inverter, the charger and what joins a conductor to earth ready.
func (s *solver) prepareParts(warm float64) {
	u, f, b := s.u, s.f, &s.bus
	if i := s.site.Inverter; i != nil {
		b.atOutput = i.From == site.FromOutput
		b.inverter = loads{
			watts: i.DrawnW(u.InverterW*f.load()) * u.Inverter,
			line:  s.p.cables.inverter*u.Cable*warm + u.LoadJoint + f.InverterJoint,
			rated: s.site.NominalV,
		}
		s.o.InverterOver = u.InverterOn && !f.InverterOff && u.InverterW*f.load() > overloadFrom*i.RatedW
		if f.InverterOff || s.o.InverterOver {
			b.inverter.watts = standbyShare * i.IdleW * u.Inverter
		}
	}
	if c := s.site.Charger; c != nil && u.ChargerOn {
		hold := c.AbsorbV
		if u.ChargerFloats {
			hold = c.FloatV
		}
		soft := chargerSoft * s.p.scale12
		most := c.RatedA * u.Charger
		if c.Source == site.FromArray { // the battery hardly moves it from its current in that light
			most *= max(u.Irradiance, 0) / 1000
		}
		b.mains = charger{most: most, hold: hold + u.ChargerSet*s.p.scale12 + soft/2, soft: soft}
	}
	if f.EarthAt != NotEarthed {
		b.drain += s.earthLeak()
	}
}

// settle finds the operating point with the inverter as it stands: off by its switch, off where its
// supply is too low for it, or on.
func (s *solver) settle(pt *point) {
	i, b, o := s.site.Inverter, &s.bus, s.o
	if i == nil {
		s.balance(pt)
		return
	}
	fed := !b.atOutput || b.output.on
	b.inverter.on = s.u.InverterOn && fed
	o.InverterRuns, o.InverterLow = false, false
	s.balance(pt)
	if !b.inverter.on {
		return
	}
	if s.f.InverterOff || o.InverterOver {
		return
	}
	o.InverterRuns = true
	low := pt.inverterV < i.CutV
	if !low && !s.u.InverterLatched {
		return
	}
	b.inverter.on = false
	s.balance(pt)
	supply := pt.post
	if b.atOutput {
		supply = pt.vc
	}
	if low || supply < i.RestoreV {
		o.InverterRuns, o.InverterLow = false, true
		return
	}
	b.inverter.on = true
	s.balance(pt)
}

// recordParts writes the readings of the inverter, the charger, the strings and earth.
func (s *solver) recordParts(pt *point) {
	v, b, o := &s.o.Value, &s.bus, s.o
	if i := s.site.Inverter; i != nil {
		switch {
		case b.inverter.on:
			v[InverterA], v[InverterV] = pt.inverter, pt.inverterV
		case !b.atOutput:
			v[InverterV] = pt.post
		case b.output.on:
			v[InverterV] = pt.vc
		default:
			o.Floats[InverterV] = true
		}
	}
	v[ChargerA] = pt.mains
	s.stringCurrents(pt)
	s.toEarth(pt.post)
}

// stringCurrents shares the battery's current among its strings.
func (s *solver) stringCurrents(pt *point) {
	n := float64(s.site.Battery.Parallel())
	if n < 2 {
		return
	}
	v, f := &s.o.Value, s.f
	s.o.StrayA = s.strayed() / n
	each, odd := pt.ib/n, pt.ib/n
	switch {
	case f.StringsLost > 0:
		each, odd = pt.ib/(n-1), 0
	case s.bus.odd.n > 0:
		each, odd = (pt.ib-pt.odd)/(n-1), pt.odd
	case f.WeakX > 0:
		share := 1 / s.weakShare() // conductance against a healthy string's
		each = pt.ib / (n - 1 + share)
		odd = share * each
	}
	if v[StringLow], v[StringRest] = odd, each; odd > each {
		v[StringLow], v[StringRest] = each, ((n-2)*each+odd)/(n-1)
	}
}

// stringsApart is how far the charges of like strings lie apart (judgement: by age, joints and
// warmth, one deviation). Where the rest voltage is steep, as of lithium cells next to empty,
// they drive a current worth the name into each other.
const stringsApart = 0.01

// restSlope is by how much the rest voltage of a cell rises with its charge [V].
func (p *Plant) restSlope(u *Unknowns) float64 {
	const apart = 0.02
	chem := p.site.Battery.Chemistry
	soc := min(max(u.SoC, apart), 1-apart)
	return (RestVoltage(chem, soc+apart, u.RestMix, 0) - RestVoltage(chem, soc-apart, u.RestMix, 0)) / (2 * apart)
}

// strayed is the current that strings of unlike charge drive into each other, of all together
// [A]: through the ohmic part and, along a secant, the overvoltage.
func (s *solver) strayed() float64 {
	c := &s.bus.cell
	volts := stringsApart * s.p.restSlope(s.u)
	amps := volts / c.ohm
	return volts / (c.ohm + c.etaC*math.Asinh(amps/c.i0C)/amps)
}

// weakShare is the resistance of a string with a weak block, times a healthy one's.
func (s *solver) weakShare() float64 {
	n := float64(s.site.Battery.Blocks)
	return (n - 1 + s.f.WeakX) / n
}

// joined is where on the battery, from 0 at minus to 1 at plus, earth is joined on purpose,
// and where by a fault; below 0: nowhere.
func (s *solver) joined() (meant, fault float64) {
	meant, fault = -1, -1
	switch s.u.Earthed {
	case site.PoleMinus:
		meant = 0
	case site.PolePlus:
		meant = 1
	}
	switch s.f.EarthAt {
	case EarthPlus:
		fault = 1
	case EarthMinus:
		fault = 0
	case EarthBetween:
		fault = s.f.EarthPart
	}
	return meant, fault
}

// earthLeak is what flows through a joint to earth and the electrode [A], where the site's
// own pole is another one; out of the battery, whichever way round.
func (s *solver) earthLeak() float64 {
	meant, fault := s.joined()
	if meant < 0 || fault < 0 {
		return 0
	}
	return math.Abs(fault-meant) * s.site.NominalV / (s.f.EarthOhm + s.u.EarthOhm)
}

// meterOhm is the resistance of a voltmeter (common practice).
const meterOhm = 10e6

// toEarth writes what stands between the poles and earth, where the battery has v [V]. With
// no pole joined to earth nothing holds it.
func (s *solver) toEarth(v float64) {
	o, f, u := s.o, s.f, s.u
	meant, fault := s.joined()
	at, seen := meant, 1.0 // where on the battery earth stands, and what a meter sees of it
	switch {
	case meant < 0 && fault < 0:
		o.Floats[PlusEarthV], o.Floats[MinusEarthV] = true, true
		return
	case meant < 0: // through the joint the meter sees a little less
		at, seen = fault, meterOhm/(meterOhm+f.EarthOhm)
	case fault >= 0: // the electrode lifts the pole that is meant to be at earth
		at = meant + (fault-meant)*u.EarthOhm/(u.EarthOhm+f.EarthOhm)
	}
	o.Value[MinusEarthV], o.Value[PlusEarthV] = -at*v*seen, (1-at)*v*seen
}
