package main

import (
	"errors"
	"fmt"
	"math"
)

// errDraw is a drawn plant that can't be a case; it is drawn again.
var errDraw = errors.New("drawn again")

// A found plant is what all meters would show without any error, and its state.
type found struct {
	values     map[string]float64
	block      []float64 // rested, of all strings
	blockStep  []float64
	gravity    []float64
	stringA    []float64
	out        solved // as found
	stand      stand
	charging   bool
	regulating bool
	cut        bool
	inverterLo bool
	spareW     float64
}

// A bench solves one world.
type bench struct {
	*world
	sp                  *spice
	openV, shortA       float64
	curve               [][]float64 // the array as found: its voltage, its current, its plug's voltage
	bestV, bestW, topW  float64     // where an mppt controller stands and could stand
	asleep              bool
	standbyOut, restOut solved
}

// judge solves a world.
func (w *world) judge(sp *spice) (*found, error) {
	b := &bench{world: w, sp: sp}
	if w.fault.packOff { // a charger finds no battery
		w.chargerOn = false
	}
	if err := b.sweep(); err != nil {
		return nil, err
	}
	f, err := b.decide()
	if err != nil {
		return nil, err
	}
	if err := b.tests(f); err != nil {
		return nil, err
	}
	b.read(f)
	return f, nil
}

// sweep solves the array by itself: open and short in the isolated test, and the curve as
// found where an mppt controller seeks on it.
func (b *bench) sweep() error {
	c := &netlist{}
	b.wireArray(c, "o", b.lightIsolated, b.cellCIsolated)
	b.wireArray(c, "s", b.lightIsolated, b.cellCIsolated)
	c.resistor("sa", "0", 0)
	b.wireArray(c, "f", b.light, b.cellC)
	b.wireArray(c, "c", b.light, b.cellC)
	c.line("Vsweep ca 0 0")
	c.sweep = &sweep{source: "vsweep", top: 1.2 * b.site.Array.Module.Voc * float64(b.site.Array.Series), steps: 400, probes: []string{"i(vcaa)", "v(cm)"}}
	out, err := b.sp.solve(c)
	if err != nil {
		return err
	}
	b.openV, b.shortA = out["v(oa)"], out["i(vsaa)"]
	b.curve = c.sweep.rows
	if b.site.Control.Kind != mpptKind {
		return nil
	}
	at := 0
	for k, row := range b.curve {
		if p := row[0] * row[1]; p > b.topW {
			b.topW, at = p, k
		}
	}
	b.asleep = b.topW < b.startW
	step := -1
	if b.above {
		step = 1
	}
	b.bestV, b.bestW = b.curve[at][0], b.topW
	for k := at; k > 0 && k < len(b.curve); k += step { // beside the best point
		if p := b.curve[k][0] * b.curve[k][1]; p < (1-b.track)*b.topW {
			break
		}
		b.bestV, b.bestW = b.curve[k][0], b.curve[k][0]*b.curve[k][1]
	}
	return nil
}

// amps of the array at a voltage, as found.
func (b *bench) amps(v float64) float64 {
	for k := 1; k < len(b.curve); k++ {
		if x, y := b.curve[k-1], b.curve[k]; y[0] >= v {
			return x[1] + (y[1]-x[1])*(v-x[0])/(y[0]-x[0])
		}
	}
	return 0
}

// works reports whether the controller can pass the array's current on.
func (b *bench) works() bool {
	f := &b.fault
	return f.arrayOpen == "" && !f.reversed && !f.dead && !f.chargeOpen && !b.asleep
}

// decide finds how the plant stands: what the controller, its load output and the
// inverter do.
func (b *bench) decide() (*found, error) {
	s, f := b.site, &b.fault
	output := s.Control.Output && !f.loadOff && !f.dead
	cut, low := false, false
	inverter := s.Inverter != nil && b.inverterOn
	for range 6 {
		got, err := b.standing(output, inverter)
		if err != nil {
			return nil, err
		}
		got.cut, got.inverterLo = cut, low
		again := false
		bus := got.out["v(b)"]
		if output && got.stand.powered && !f.cutFails {
			if bus < s.Control.CutV+b.cutOff {
				output, cut, again = false, true, true
			} else if b.latched {
				off, err := b.standing(false, inverter)
				if err != nil {
					return nil, err
				}
				if off.out["v(b)"] < s.Control.RestoreV+b.cutOff {
					output, cut, again = false, true, true
				} else {
					b.latched = false
				}
			}
		}
		if inverter && got.out["v(iv)"] < s.Inverter.CutV {
			inverter, low, again = false, true, true
		}
		if !again {
			return got, nil
		}
	}
	return nil, fmt.Errorf("%w: outputs do not settle", errDraw)
}

// hasBattery reports whether a battery holds the controller's terminals.
func (b *bench) hasBattery() bool { return !b.fault.batteryOpen && !b.fault.packOff }

// standing solves the plant with the load output and the inverter so.
func (b *bench) standing(output, inverter bool) (*found, error) {
	st := stand{link: apart, output: output, inverter: inverter, powered: !b.fault.dead}
	if b.fault.reversed {
		st.link = backwards
	}
	if !b.hasBattery() {
		return b.withoutBattery(st)
	}
	if !b.works() {
		return b.solved(st)
	}
	st.link = closed
	if b.site.Control.Kind == mpptKind {
		st.link, st.arrayV, st.converterW = converted, b.bestV, b.efficiency*b.bestW
	}
	got, err := b.solved(st)
	if err != nil {
		return nil, err
	}
	if st.link == converted && b.bestV < got.out["v(b)"]+0.3 { // no room to convert down
		st.link = apart
		return b.solved(st)
	}
	got.charging = got.out["i(vaa)"] > 0.01
	sp := b.setPoint()
	if got.out["v(b)"] <= sp || b.fault.chargeStuck || b.openNow() < sp {
		return got, nil
	}
	return b.regulating(st)
}

// openNow is the array's open-circuit voltage as found, from its curve.
func (b *bench) openNow() float64 {
	for _, row := range b.curve {
		if row[1] < 0 {
			return row[0]
		}
	}
	return b.curve[len(b.curve)-1][0]
}

func (b *bench) solved(st stand) (*found, error) {
	out, err := b.sp.solve(b.circuit(st))
	return &found{out: out, stand: st}, err
}

// regulating is a controller that holds its set-point.
func (b *bench) regulating(st stand) (*found, error) {
	mean, err := b.solved(stand{link: held, output: st.output, inverter: st.inverter, powered: true})
	if err != nil {
		return nil, err
	}
	need := -mean.out["i(vhold)"]
	got := &found{regulating: true}
	sp := b.setPoint()
	full := b.full()
	switch {
	case need <= 0.002: // the battery stands there by itself
		st.link = apart
		if b.site.Control.Kind == shuntKind {
			st.link = shorted
		}
		idle, err := b.solved(st)
		if err != nil {
			return nil, err
		}
		got.out = idle.out
	case b.site.Control.Kind == mpptKind:
		if got.out, err = b.throttled(mean.out, need*sp/b.efficiency); err != nil {
			return nil, err
		}
		got.charging = true
	default:
		if got.out, got.charging, err = b.pulsed(st, mean, need); err != nil {
			return nil, err
		}
	}
	got.spareW = max(0, full-max(need, 0)) * sp
	got.stand = st
	got.stand.frozen = nil
	return got, nil
}

// full is what the array could give at the set-point at the battery side [A].
func (b *bench) full() float64 {
	sp := b.setPoint()
	if b.site.Control.Kind == mpptKind {
		return b.efficiency * b.bestW / sp
	}
	return max(0, b.amps(sp+b.pathV))
}

// throttled is an mppt converter that takes watts only, above the best point's voltage.
func (b *bench) throttled(mean solved, watts float64) (solved, error) {
	for k := len(b.curve) - 1; k > 0; k-- { // from the open circuit down
		below, above := b.curve[k-1], b.curve[k]
		p, q := below[0]*below[1], above[0]*above[1]
		if p < watts {
			continue
		}
		x := (watts - p) / (q - p)
		at := func(n int) float64 { return below[n] + x*(above[n]-below[n]) }
		mean["v(a)"], mean["v(m)"] = at(0), at(2)
		mean["i(vaa)"] = watts / at(0)
		return mean, nil
	}
	return nil, fmt.Errorf("%w: an mppt controller holds more than it has", errDraw)
}

// pulsed is a controller that switches the array on and off; the overvoltages of the
// battery follow the mean current.
func (b *bench) pulsed(st stand, mean *found, need float64) (out solved, charging bool, err error) {
	st.frozen = freeze(mean.out)
	on, err := b.solved(st)
	if err != nil {
		return nil, false, err
	}
	st.link = apart
	if b.site.Control.Kind == shuntKind {
		st.link = shorted
	}
	off, err := b.solved(st)
	if err != nil {
		return nil, false, err
	}
	// The same mean over the battery's terminals as the set-point asks for.
	sp := b.setPoint()
	duty := 1.0
	if up := on.out["v(b)"] - off.out["v(b)"]; up > 1e-6 {
		duty = clamp((sp-off.out["v(b)"])/up, 0, 1)
	}
	switch b.phase {
	case onPhase:
		return b.slow(on.out, duty), true, nil
	case offPhase:
		return b.slow(off.out, duty), false, nil
	}
	out = solved{}
	for k, v := range on.out {
		out[k] = duty*v + (1-duty)*off.out[k]
	}
	for _, k := range []string{"v(a)", "v(m)"} {
		out[k] *= 1 + b.ripple*math.Sqrt(duty*(1-duty))*2
	}
	return out, need > 0.01, nil
}

// slow regulation swings by its hysteresis; a reading is somewhere in it.
func (b *bench) slow(out solved, duty float64) solved {
	swing := (duty - 0.5) * b.hysteresis // seen at some time of the phase
	for _, k := range []string{"v(b)", "v(p)", "v(l)", "v(e)"} {
		if out[k] > b.low() {
			out[k] += swing
		}
	}
	return out
}

// withoutBattery: some controllers work on the array alone, others stop.
func (b *bench) withoutBattery(st stand) (*found, error) {
	if b.works() && b.alone && b.openNow() > b.setPoint() {
		mean, err := b.solved(stand{link: held, output: st.output, inverter: st.inverter, powered: true})
		if err != nil {
			return nil, err
		}
		need := -mean.out["i(vhold)"]
		if need > 0 && need < 0.95*b.full() {
			return b.onArray(mean, need)
		}
	}
	st.powered, st.output = false, false
	return b.solved(st)
}

// onArray is a controller that holds its terminals by the array alone.
func (b *bench) onArray(mean *found, need float64) (*found, error) {
	sp := b.setPoint()
	mean.regulating, mean.charging = true, need > 0.01
	mean.spareW = (b.full() - need) * sp
	mean.stand.link = apart
	if b.site.Control.Kind == mpptKind {
		out, err := b.throttled(mean.out, need*sp/b.efficiency)
		mean.out = out
		return mean, err
	}
	v := sp + b.pathV
	full := b.amps(v)
	duty := clamp(need/full, 0, 1)
	away := b.openNow()
	mean.out["i(vaa)"] = need
	if b.site.Control.Kind == shuntKind {
		away = 0.1
		mean.out["i(vaa)"] = need + (1-duty)*b.amps(0.1)
	}
	mean.out["v(a)"] = duty*v + (1-duty)*away
	mean.out["v(m)"] = mean.out["v(a)"] + mean.out["i(vaa)"]*(b.cableOhm()+b.array.joint+b.fault.jointAfter)
	return mean, nil
}
