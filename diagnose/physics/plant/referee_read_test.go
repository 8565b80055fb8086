package plant_test

import (
	"math"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// edgeV is how near a voltage may come to a threshold before the decision that
// hangs on it counts as a matter of rounding [V].
const edgeV = 0.002

// A stand is one way the plant may stand: how the array is connected and
// whether the load output is on.
type stand struct {
	bus                     solved
	circuit                 string // that gave it
	output                  bool
	arrayV, moduleV, arrayA float64
	regulating, charging    bool
	need                    float64 // what of the array's current is wanted while it regulates
	spareW                  float64
}

// decide picks what the controller does and says in what state the plant is.
func (b *bench) decide() {
	v := &b.verdict
	v.powered = !b.u.Fault.Dead
	if b.hasBattery() {
		b.stand = b.withBattery()
	} else {
		b.stand = b.withoutBattery()
	}
	st := &b.stand
	v.regulating, v.charging, v.spareW = st.regulating, st.charging, st.spareW
	v.busV = st.bus["v(b)"]
	if !b.u.Fault.PackOff {
		v.eta = st.bus["v(bi)"]/b.cellCount() - b.cellV()
	}
}

// read takes the readings.
func (b *bench) read() {
	v := &b.verdict
	st, bus, f := &b.stand, b.stand.bus, &b.u.Fault
	if st.regulating {
		b.readPart(st)
	}
	v.set(plant.ArrayV, st.arrayV)
	v.set(plant.ModuleV, st.moduleV)
	v.set(plant.ArrayA, st.arrayA)
	v.set(plant.BatteryV, bus["v(b)"])
	v.set(plant.PostV, bus["v(p)"])
	v.set(plant.BatteryA, bus["i(vib)"])
	if b.site.Controller.LoadOutput {
		v.set(plant.LoadV, bus["v(l)"])
	}
	v.set(plant.LoadA, bus["i(vil)"])
	v.set(plant.LoadEndV, bus["v(e)"])
	// Standby: loads off; what the load output feeds depends on how it stands.
	v.set(plant.StandbyA, -b.result[variant("standby", v.live)]["i(vib)"])
	sign := 1.0
	if f.Reversed {
		sign = -1
	}
	v.set(plant.OpenV, sign*b.result["open"]["v(sa)"])
	v.set(plant.ShortA, sign*b.result["short"]["i(vsia)"])
	v.set(plant.RestV, b.result["rest"]["v(p)"])
	v.set(plant.StepPostV, b.result["step"]["v(p)"])
}

// alone is the array that delivers nothing.
func (b *bench) alone() stand {
	r := b.result["alone"]
	st := stand{arrayV: r["v(sa)"], moduleV: r["v(sm)"], arrayA: r["i(vsia)"]}
	if b.u.Fault.Reversed { // by the controller's labels
		st.arrayV, st.arrayA = -st.arrayV, -st.arrayA
	}
	return st
}

// withBattery: the load output is on unless the battery sinks below the
// cut-off under load, or has been and is not yet back at the reconnect voltage.
func (b *bench) withBattery() stand {
	v := &b.verdict
	c, f := b.site.Controller, &b.u.Fault
	if !c.LoadOutput {
		v.live = true
		return b.standing(true)
	}
	if f.Dead || f.LoadOff {
		return b.standing(false)
	}
	if f.NoCut {
		v.live = true
		return b.standing(true)
	}
	on := b.standing(true)
	v.below(on.bus["v(b)"], c.CutV, "cut-off")
	if on.bus["v(b)"] < c.CutV {
		v.cut = true
		return b.standing(false)
	}
	if b.u.LatchedOff {
		off := b.standing(false)
		v.below(off.bus["v(b)"], c.RestoreV, "reconnect")
		if off.bus["v(b)"] < c.RestoreV {
			v.cut = true
			return off
		}
	}
	v.live = true
	return on
}

// below notes a voltage that is too near a threshold to tell.
func (v *verdict) below(x, threshold float64, what string) {
	if math.Abs(x-threshold) < edgeV {
		v.edge = what
	}
}

// standing is the plant with its load output on or off and a battery.
func (b *bench) standing(output bool) (st stand) {
	v := &b.verdict
	defer func() { st.output = output }()
	if !b.works() {
		st := b.alone()
		st.bus, st.circuit = b.result[variant("idle", output)], "idle"
		return st
	}
	closed := b.result[variant("closed", output)]
	st = stand{bus: closed, circuit: "closed", arrayV: closed["v(sa)"], moduleV: closed["v(sm)"], arrayA: closed["i(vsia)"]}
	conv, ok := b.result[variant("converter", output)]
	if ok {
		v.below(b.peakV, conv["v(b)"]+converterRoomV, "converter's room")
		if b.peakV > conv["v(b)"]+converterRoomV {
			amps := b.peakW / b.peakV
			st = stand{bus: conv, circuit: "converter", arrayV: b.peakV, moduleV: b.peakV + amps*b.after(), arrayA: amps}
		}
	}
	sp, open := b.setPoint(), b.result["alone"]["v(sa)"]
	v.below(st.bus["v(b)"], sp, "set-point")
	v.below(open, sp, "array's voltage against the set-point")
	if st.bus["v(b)"] > sp && open > sp && !b.u.Fault.ChargeStuck {
		held := b.result[variant("held", output)]
		need := -held["i(vhold)"]
		if need < 0 { // the battery stands above the set-point by itself
			return b.holding("idle", output, 0)
		}
		return b.holding("held", output, need)
	}
	st.charging = st.arrayA > 0.01
	return st
}

func (b *bench) after() float64 {
	s, u := b.site, &b.u
	return loop(s.Array.CableM, s.Array.CableMM2, u.AirC)*u.Cable + u.ArrayJoint + u.Fault.JointAfter
}

// full is what the array could give at the set-point at the battery side.
func (b *bench) full() float64 {
	if b.converts() {
		return b.u.Efficiency * b.peakW / b.setPoint()
	}
	return b.result["full"]["i(vsia)"]
}

func (b *bench) converts() bool { return b.peakV > b.setPoint()+converterRoomV }

// holding is a controller that takes only the needed part of the array's
// current.
func (b *bench) holding(circuit string, output bool, need float64) stand {
	return stand{
		bus: b.result[variant(circuit, output)], circuit: circuit, output: output,
		regulating: true, charging: need > 0.01, need: need, spareW: (b.full() - need) * b.setPoint(),
	}
}

// readPart reads the array of a controller that holds it back: a meter shows
// the mean over the switching.
func (b *bench) readPart(st *stand) {
	part := b.result["part"]
	away := b.result["alone"] // where the array is while the switch does not pass it on
	duty := 0.0
	switch {
	case st.need <= 0:
		part = away
	case b.converts():
		duty = 1
	default:
		duty = st.need / part["i(vsia)"]
	}
	if b.site.Controller.Kind == site.Shunt {
		away = b.result["shorted"]
	}
	mean := func(probe string) float64 { return duty*part[probe] + (1-duty)*away[probe] }
	st.arrayV, st.moduleV, st.arrayA = mean("v(sa)"), mean("v(sm)"), mean("i(vsia)")
}

// withoutBattery: some controllers run on the array alone and hold their
// set-point if it gives enough, others stop.
func (b *bench) withoutBattery() stand {
	v := &b.verdict
	output := b.variants()[0]
	if b.works() && b.u.RunsAlone {
		held := b.result[variant("held", output)]
		need := -held["i(vhold)"]
		if b.result["alone"]["v(sa)"] > b.setPoint() && b.full() > need {
			v.live = output
			return b.holding("held", output, need)
		}
	}
	v.powered = false
	v.live = !b.site.Controller.LoadOutput // wired to the posts
	st := b.alone()
	if b.u.Fault.PackOff {
		st.bus = solved{}
		return st
	}
	// The posts keep what is wired to them; the controller's side is dead.
	idle := b.result[variant("idle", output)]
	st.bus = solved{"v(p)": idle["v(p)"], "i(vib)": idle["i(vib)"], "v(bi)": idle["v(bi)"]}
	if !b.site.Controller.LoadOutput {
		st.bus["i(vil)"], st.bus["v(e)"] = idle["i(vil)"], idle["v(e)"]
	}
	return st
}
