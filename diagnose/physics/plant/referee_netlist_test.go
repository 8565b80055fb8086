package plant_test

import (
	"fmt"
	"math"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// Physical constants, SI 2019, and the zero of the Celsius scale.
const (
	boltzmannEV = 8.617333262e-5 // [eV/K]
	zeroC       = 273.15
	spiceTempK  = 300.15 // at which ngspice takes a diode's parameters
	openOhm     = 1e16   // a broken connection
	leakOhm     = 3e9    // across each bypass diode: it keeps like cells in series from being undetermined
	meterOhm    = 1e11   // a voltmeter; large, so that it loads nothing
)

// Parts that no site file tells; plant documents each of these figures.
const (
	shuntFloor      = 0.1 // of full light; in less the shunt stays as it is
	bypassDropV     = 0.45
	bypassSlopeOhm  = 0.01
	protectionDropV = 0.7
	shortedDropV    = 0.1 // a shunt controller's closed switch
	converterRoomV  = 0.5 // an mppt converter needs its input this far above its output
	constantPowerTo = 0.6 // of nominal; below it a load acts as a resistor
)

// conductor is the resistance of class 5 plain copper at 20 °C [ohm/km] by
// cross-section [mm²]; it rises by 0.393 % per kelvin.
//
// Source: IEC 60228 (read in reproductions).
var conductor = map[float64]float64{2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21}

// loop is the resistance of a two-wire cable of the length m, one way.
func loop(m, mm2, c float64) float64 {
	return 2 * m * conductor[mm2] / 1000 * (1 + 0.00393*(c-20))
}

// A trial is one plant to be solved by both.
type trial struct {
	site    *site.Site
	stc     plant.Fit // of the module
	u       plant.Unknowns
	minutes float64 // of rest before the rested readings
	ids     []condition.ID
	about   string
}

// group is the single-diode parameters of one bypass group.
type group struct{ il, i0, a, rs, gsh float64 }

// groupAt moves the module's model to light g and temperature c and takes one
// bypass group of it.
//
// Source: De Soto, Klein, Beckman, Solar Energy 80 (2006) 78–88: IL = S/Sref·
// (ILref + α(T−Tref)); I0 as T³·exp(−Eg/kT); a as T; Rsh as 1/S; Rs constant.
func (tr *trial) groupAt(g, c float64) group {
	stc, u, f := tr.stc, &tr.u, &tr.u.Fault
	saturation := 1.0
	if u.Ideality > 0 {
		stc, saturation = tr.ofIdeality()
	}
	per := float64(tr.site.Array.Module.Bypass)
	t, ref := c+zeroC, 25+zeroC
	gap := func(t float64) float64 { return 1.121 * (1 - 0.0002677*(t-ref)) }
	keep := u.Current * (1 - f.CurrentLost)
	return group{
		il:  g / 1000 * keep * (stc.IL + stc.Alpha*(t-ref)),
		i0:  stc.I0 * math.Pow(math.Pow(t/ref, 3)*math.Exp(gap(ref)/(boltzmannEV*ref)-gap(t)/(boltzmannEV*t)), saturation),
		a:   stc.A / per * u.Voltage * t / ref,
		rs:  stc.Rs / per,
		gsh: stc.Gsh * per * math.Pow(max(g/1000, shuntFloor), u.Shunt),
	}
}

// ofIdeality is the module of this nameplate whose cells have the trial's ideality and
// whose shunt takes the trial's share of Isc at Voc: its series resistance is that with
// which the current at Vmp is the nameplate's. The exponent of the saturation current is
// the one with which Voc falls by the nameplate's coefficient. Drawn only where
// the nameplate leaves room for some series resistance.
func (tr *trial) ofIdeality() (stc plant.Fit, saturation float64) {
	m, u := tr.site.Array.Module, &tr.u
	ref := 25 + zeroC
	a := u.Ideality * boltzmannEV * ref * float64(m.Cells)
	g := u.ShuntShare * m.IscA / m.VocV
	at := func(rs float64) plant.Fit {
		f := tr.stc
		f.A, f.Rs, f.Gsh = a, rs, g
		f.I0 = (m.IscA*(1+g*rs) - g*m.VocV) / (math.Exp(m.VocV/a) - math.Exp(m.IscA*rs/a))
		f.IL = f.I0*math.Expm1(m.VocV/a) + g*m.VocV
		return f
	}
	lo, hi := 0.0, (m.VocV-m.VmpV)/m.ImpA
	for range 60 {
		rs := (lo + hi) / 2
		f := at(rs)
		if vd := m.VmpV + m.ImpA*rs; f.IL-f.I0*math.Expm1(vd/a)-g*vd < m.ImpA {
			hi = rs
		} else {
			lo = rs
		}
	}
	f := at(lo)
	// Voc = A·T/T'·ln(IL/I0) without the shunt; its slope is wanted to be VocPctPerC.
	want := m.VocPctPerC / 100 * m.VocV
	ln := func(t float64) float64 {
		gap := func(t float64) float64 { return 1.121 * (1 - 0.0002677*(t-ref)) }
		return 3*math.Log(t/ref) + gap(ref)/(boltzmannEV*ref) - gap(t)/(boltzmannEV*t)
	}
	slope := (ln(ref+0.5) - ln(ref-0.5))
	saturation = (math.Log(f.IL/f.I0)/ref + f.Alpha/f.IL - want/f.A) / slope
	return f, saturation
}

// cells puts one bypass group with its bypass diode between minus and plus.
func (c *netlist) cells(minus, plus string, d group, shorted bool) {
	c.elements++
	k := c.elements
	j := fmt.Sprintf("j%d", k)
	c.current(minus, j, d.il)
	c.exponential(fmt.Sprintf("cell%d", k), j, minus, d.i0, d.a)
	if d.gsh > 1e-12 {
		c.resistor(j, minus, 1/d.gsh)
	}
	c.resistor(j, plus, d.rs)
	if shorted {
		c.resistor(minus, plus, 0)
		return
	}
	c.oneWay(minus, plus, bypassDropV, bypassSlopeOhm)
	c.resistor(minus, plus, leakOhm)
}

// array wires the modules, joints and cable up to the controller's end, node
// name+"a"; the plug is name+"m" and the current toward the controller
// i(v+name+"ia").
func (c *netlist) array(tr *trial, name string, light, cellC float64) {
	u, f, s := &tr.u, &tr.u.Fault, tr.site
	light *= (1 - u.Soiling) * (1 - f.LightLost)
	lit := tr.groupAt(light, cellC)
	dim := tr.groupAt(max(light*f.ShadeLight, darkest), cellC)
	modules := name + "x"
	groups := s.Array.Series * s.Array.Module.Bypass
	for n := range s.Array.Strings - f.StringsOpen {
		at := "0"
		for g := range groups {
			next := modules
			if g < groups-1 {
				next = fmt.Sprintf("%ss%dg%d", name, n, g)
			}
			d, shorted := lit, false
			if n == 0 {
				shorted = g < f.BypassShorts
				if !shorted && g < f.BypassShorts+f.ShadedGroups {
					d = dim
				}
			}
			c.cells(at, next, d, shorted)
			at = next
		}
	}
	if f.LeakA > 0 {
		c.resistor(modules, "0", s.NominalV/f.LeakA)
	}
	plug, end := name+"m", name+"a"
	before, after := f.JointBefore, loop(s.Array.CableM, s.Array.CableMM2, u.AirC)*u.Cable+u.ArrayJoint+f.JointAfter
	switch f.ArrayOpen {
	case plant.BeforePlug:
		before = openOhm
	case plant.AfterPlug:
		after = openOhm
	}
	c.resistor(modules, plug, before)
	c.resistor(plug, name+"i", after)
	c.ammeter(name+"ia", name+"i", end)
	for _, n := range []string{modules, plug, end} {
		c.resistor(n, "0", meterOhm)
	}
	c.probe("v("+plug+")", "v("+end+")", "i(v"+name+"ia)")
}

// path is the controller's way from the array's terminals to the battery's: a
// switch or diode with its drop, that blocks the way back unless that part has
// failed (a leaking array shows it).
func (c *netlist) path(tr *trial, from, to string) {
	u := &tr.u
	c.valve(from, to, u.DropV, u.DropOhm)
	if u.Fault.LeakA > 0 {
		c.valve(to, from, u.DropV, u.DropOhm)
	}
}

// setPoint is what the controller holds: the stage's voltage, compensated per
// 2 V of nominal voltage.
func (tr *trial) setPoint() float64 {
	ctl := tr.site.Controller
	v := ctl.AbsorbV
	if tr.u.FloatStage {
		v = ctl.FloatV
	}
	n := tr.site.NominalV
	return v + ctl.CompMVPerCCell/1000*n/2*(tr.u.BatteryC-25) + tr.u.SetPoint*n/12 + tr.u.Fault.SetPointShift
}

// hasBattery reports whether a battery holds the controller's terminals.
func (tr *trial) hasBattery() bool { return !tr.u.Fault.BatteryOpen && !tr.u.Fault.PackOff }

// works reports whether array and controller can work together: the switch is
// in order and gets its array the right way round.
func (tr *trial) works() bool {
	f := &tr.u.Fault
	return f.ArrayOpen == plant.NotOpen && !f.Reversed && !f.Dead && !f.ChargeOpen
}

// bus wires battery, cable, drains, own use and loads; "b" is the controller's
// battery terminals, "p" the posts, "l" its load terminals, "e" the far end.
func (c *netlist) bus(tr *trial, output bool) {
	u, f, s := &tr.u, &tr.u.Fault, tr.site
	line := loop(s.Battery.CableM, s.Battery.CableMM2, u.AirC)*u.Cable + u.BatteryJoint + f.BatteryJoint
	if f.BatteryOpen {
		line = openOhm
	}
	c.resistor("b", "p", line)
	if f.PackOff {
		c.resistor("p", "q", openOhm)
	} else {
		c.ammeter("ib", "p", "q")
		c.probe("i(vib)")
	}
	c.battery(tr, "q")
	own, drain := 0.0, f.DrainA
	if !f.Dead {
		own = s.Controller.OwnUseMA / 1000 * u.OwnUse
	}
	c.draw("b", own)
	near := "p"
	if s.Controller.LoadOutput {
		near = "b"
	}
	wired := near == "p" || output // the loads have something to draw from
	if !wired {
		near = "off"
	}
	c.ammeter("il", near, "l")
	c.resistor("l", "0", meterOhm)
	switch {
	case f.DrainAt == plant.DrainPosts:
		c.draw("p", drain)
	case f.DrainAt == plant.DrainBus:
		c.draw("b", drain)
	case wired:
		c.draw("l", drain)
	}
	c.loads(tr, "l", "e")
	for _, n := range []string{"b", "p"} {
		c.resistor(n, "0", meterOhm)
	}
	c.probe("v(b)", "v(p)", "v(l)", "v(e)", "i(vil)", "v(bi)")
	c.guess(tr.restV(), "b", "p", "q", "bi", "l", "e")
}

// draw takes a constant current, for which it needs some voltage.
func (c *netlist) draw(node string, amps float64) {
	if amps > 0 {
		c.behave(node, "0", fmt.Sprintf("%s*(V(%s) > 1 ? 1 : V(%s))", number(amps), node, node))
	}
}

// loads is the wire to the farthest load and the loads there: a part that draws
// constant power, a part that is a resistor.
func (c *netlist) loads(tr *trial, near, end string) {
	u, f, s := &tr.u, &tr.u.Fault, tr.site
	ohm := loop(s.LoadWiring.CableM, s.LoadWiring.CableMM2, u.AirC)*u.Cable + u.LoadJoint + f.LoadJoint
	if f.LoadOpen {
		ohm = openOhm
	}
	c.resistor(near, end, ohm)
	c.resistor(end, "0", meterOhm)
	watts := u.LoadW
	if f.LoadX > 0 {
		watts *= f.LoadX
	}
	resistor, power := watts*u.LoadShape, watts*(1-u.LoadShape)
	n := s.NominalV
	if resistor > 0 {
		c.resistor(end, "0", n*n/resistor)
	}
	if power > 0 {
		c.power(end, "0", "V("+end+")", power, constantPowerTo*n)
	}
}
