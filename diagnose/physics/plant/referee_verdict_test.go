package plant_test

import (
	"fmt"
	"math"
	"testing"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A verdict is what the simulator makes of a trial: every reading, and the
// state of the plant.
type verdict struct {
	value      [plant.Count]float64
	has        [plant.Count]bool // readings the site has
	regulating bool
	charging   bool
	cut        bool    // load output off for low voltage
	live       bool    // load output on
	powered    bool    // the controller works
	spareW     float64 // what the array could give more
	busV       float64
	eta        float64 // overvoltage of a cell as found
	edge       string  // a decision of the controller that hung on a millivolt
}

func (v *verdict) set(i plant.Index, x float64) { v.value[i], v.has[i] = x, true }

// A bench holds the circuits of one trial while they are solved.
type bench struct {
	*trial
	names  []string // circuits to be solved
	lists  []*netlist
	made   map[string]*netlist // all there were
	result map[string]solved
	peakV  float64 // mppt: the array's maximum power point at the controller
	peakW  float64
	asleep bool // mppt: too little power to start
	stand  stand
	verdict
}

// works adds to the trial's what only its circuits tell.
func (b *bench) works() bool { return !b.asleep && b.trial.works() }

func (b *bench) circuit(name string) *netlist {
	c := &netlist{}
	b.names, b.lists, b.made[name] = append(b.names, name), append(b.lists, c), c
	return c
}

// judge solves all trials and takes their readings.
func judge(tb testing.TB, trials []*trial) []*verdict {
	tb.Helper()
	benches := judgeStands(tb, trials)
	finish(tb, benches)
	verdicts := make([]*verdict, len(trials))
	for i, b := range benches {
		b.read()
		verdicts[i] = &b.verdict
	}
	return verdicts
}

// finish solves what depends on how a plant was found: how a controller holds
// back its array, and how a battery rests.
func finish(tb testing.TB, benches []*bench) {
	tb.Helper()
	for _, b := range benches {
		b.heldBack()
		b.rested()
	}
	solveAll(tb, benches)
}

// judgeStands finds how every trial stands as found: an mppt controller has to
// find the array's best point first.
func judgeStands(tb testing.TB, trials []*trial) []*bench {
	tb.Helper()
	benches := make([]*bench, len(trials))
	for i, tr := range trials {
		b := &bench{trial: tr, made: map[string]*netlist{}, result: map[string]solved{}}
		benches[i] = b
		if tr.site.Controller.Kind == site.MPPT && tr.works() {
			b.seekPeak()
		}
	}
	solveAll(tb, benches)
	for _, b := range benches {
		if r, ok := b.result["peak"]; ok {
			b.peakW, b.peakV = r["best"], r["vat"]
			if b.asleep = b.peakW < b.u.StartW; b.asleep {
				b.peakW, b.peakV = 0, 0
			} else if beside := r["ptrack"]; b.u.Track != 0 && beside > 0 {
				b.peakW, b.peakV = beside, r["vtrack"]
			}
		}
		b.asFound()
		b.isolated()
	}
	solveAll(tb, benches)
	for _, b := range benches {
		b.decide()
	}
	return benches
}

// solveAll solves what the benches have waiting.
func solveAll(tb testing.TB, benches []*bench) {
	tb.Helper()
	var all []*netlist
	for _, b := range benches {
		all = append(all, b.lists...)
	}
	got := simulate(tb, all)
	for _, b := range benches {
		for _, name := range b.names {
			b.result[name], got = got[0], got[1:]
		}
		b.names, b.lists = nil, nil
	}
}

// seekPeak sweeps the array's voltage, coarsely and then finely about the
// highest power.
func (b *bench) seekPeak() {
	c := b.circuit("peak")
	b.array(c)
	c.line("Vsweep sa 0 0")
	top := 1.25 * b.site.Array.OpenCircuitV(b.u.CellC)
	step := top / 1500
	c.analysis = fmt.Sprintf(`dc vsweep 0 %g %g
let p = v(sa)*i(vsia)
meas dc vat max_at p
let lo = vat - %g
let hi = vat + %g
dc vsweep $&lo $&hi %g
let p = v(sa)*i(vsia)
meas dc vat max_at p
meas dc best max p`, top, step, step, step, step/100)
	c.probes = []string{"best", "vat"}
	if b.u.Track == 0 {
		return
	}
	// Beside it: where a lit cell's diode has so many of its A more.
	c.analysis += fmt.Sprintf(`
meas dc jat find v(j1) at=$&vat
let there = jat + %g
set there = $&there
set best = $&best
set vat = $&vat
dc vsweep 0 %g %g
let p = v(sa)*i(vsia)
let best = $best
let vat = $vat
let mv = 0
let mp = 0
meas dc mv when v(j1)=$there
meas dc mp find p at=$&mv
let vtrack = mv
let ptrack = mp`, b.u.Track*b.groupAt(1000, b.u.CellC).a, top, step/4)
	c.probes = append(c.probes, "vtrack", "ptrack")
}

// variants are the ways the load output may stand.
func (b *bench) variants() []bool {
	switch {
	case !b.site.Controller.LoadOutput:
		return []bool{true}
	case b.u.Fault.Dead || b.u.Fault.LoadOff:
		return []bool{false}
	}
	return []bool{true, false}
}

func variant(name string, output bool) string { return fmt.Sprint(name, " ", output) }

// fastOhm is the resistance that the battery side shows to the pulses of a
// switching controller: cable and ohmic resistance. The overvoltages follow the
// mean current only, for the double layer's capacitance, tens of farads,
// carries the pulses (common knowledge of impedance spectra, from memory).
func (b *trial) fastOhm() float64 {
	if !b.hasBattery() {
		return 0
	}
	s, u := b.site, &b.u
	return b.cellCount()*b.cellModel().ohm + u.BatteryJoint + u.Fault.BatteryJoint +
		loop(s.Battery.CableM, s.Battery.CableMM2, u.AirC)*u.Cable
}

// asFound writes a circuit for every way the controller may stand; which one
// it is, decide says as a controller does.
func (b *bench) asFound() {
	tr := b.trial
	alone := b.circuit("alone")
	b.array(alone)
	if b.u.Fault.Reversed && b.u.Blocking && !b.u.Fault.Dead {
		// The controller's protection diode across the exchanged leads.
		alone.oneWay("sa", "0", protectionDropV, 1e-4)
	}
	for _, output := range b.variants() {
		b.circuit(variant("idle", output)).bus(tr, output)
		if !b.works() {
			continue
		}
		c := b.circuit(variant("held", output))
		c.bus(tr, output)
		c.line("Vhold b 0 %s", number(b.setPoint()))
		c.probe("i(vhold)")
		if !b.hasBattery() {
			continue
		}
		c = b.circuit(variant("closed", output))
		c.bus(tr, output)
		b.array(c)
		c.path(tr, "sa", "b")
		if b.peakW > 0 {
			c := b.circuit(variant("converter", output))
			c.bus(tr, output)
			least := number(b.site.NominalV / 2)
			c.behave("0", "b", fmt.Sprintf("%s/(V(b) > %s ? V(b) : %s)", number(b.u.Efficiency*b.peakW), least, least))
		}
	}
	if !b.works() {
		return
	}
	full := b.circuit("full")
	b.array(full)
	full.path(tr, "sa", "t")
	full.voltage("t", "0", b.setPoint())
	if b.site.Controller.Kind == site.Shunt {
		c := b.circuit("shorted")
		b.array(c)
		c.voltage("sa", "0", shortedDropV)
	}
}

func (b *bench) array(c *netlist) { c.array(b.trial, "s", b.u.Irradiance, b.u.CellC) }

// heldBack writes the circuit of an array of which only a part is wanted: at
// the higher of the two voltages that give an mppt controller its power, or as
// it stands while a switch is closed. Then the battery side stands above the
// set-point, its mean, by what the pulse drops over the fast resistance.
func (b *bench) heldBack() {
	need, sp := b.stand.need, b.setPoint()
	if !b.stand.regulating || need <= 0 {
		return
	}
	c := b.circuit("part")
	b.array(c)
	if b.converts() {
		c.power("sa", "0", "V(sa)", need*sp/b.u.Efficiency, 1)
		c.guess(b.result["alone"]["v(sa)"], "sa", "sx", "sm", "si")
		return
	}
	fast := b.fastOhm()
	c.path(b.trial, "sa", "n")
	c.resistor("n", "t", fast)
	c.voltage("t", "0", sp-need*fast)
}

// isolated writes the circuits of the tests with the array's plug open.
func (b *bench) isolated() {
	b.circuit("open").array(b.trial, "s", b.u.IrradianceIsolated, b.u.CellCIsolated)
	c := b.circuit("short")
	c.array(b.trial, "s", b.u.IrradianceIsolated, b.u.CellCIsolated)
	c.resistor("sa", "0", 0)
	quiet := *b.trial
	quiet.u.LoadW = 0
	for _, output := range b.variants() {
		b.circuit(variant("standby", output)).bus(&quiet, output)
	}
}

// rested writes the circuits of a battery that lies apart: what is left of its
// overvoltage, which decays; then a load step, that brings the ohmic drop and a
// part of the discharge overvoltage.
func (b *bench) rested() {
	u := &b.u
	n, m := b.cellCount(), b.cellModel()
	left := n * b.eta * u.Surface * math.Exp(-b.minutes/u.Decay)
	rest := n*b.cellV() + left
	for _, step := range []bool{false, true} {
		name, amps := "rest", 0.0
		if step {
			name, amps = "step", u.StepA
		}
		c := b.circuit(name)
		posts := openOhm
		if !u.Fault.PackOff {
			posts = 0
		}
		c.voltage("r", "0", rest)
		c.ammeter("step", "t", "r")
		c.resistor("q", "t1", n*m.ohm)
		c.follow("t1", "t2", fmt.Sprintf("%s*(exp(I(vstep)/%s)-1)", number(max(left, 0)*u.Taken), number(0.03*b.site.Battery.CapacityAh)))
		c.follow("t2", "t", fmt.Sprintf("%s*asinh(I(vstep)/%s)", number(n*u.OneMinute*m.etaD), number(m.i0D)))
		c.resistor("p", "q", posts)
		c.resistor("p", "0", meterOhm)
		if !u.Fault.PackOff {
			c.current("p", "0", amps)
		}
		c.probe("v(p)")
	}
}
