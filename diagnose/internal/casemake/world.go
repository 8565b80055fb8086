package main

import (
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
)

// A world is one case: what is installed and all of its physics.
type world struct {
	site       *siteFile
	conditions []string // empty: sound
	moment
	array arrayTruth
	store store
	control
	fault   fault
	loadsOn []string
	drawn   map[string]float64 // what each load draws when on, against its label
	shapes  map[string]shape
	battJ   float64 // normal joints [ohm]
	loadJ   float64
	latched bool // the load output has been cut and waits for its restore voltage

	inverterOn, standbyOn bool
	inverterX             float64 // efficiency and idle draw against the label
	inverterJ             float64
	chargerOn             bool
	chargerFloat          bool
	earthedTo             string
	leakPlus, leakMinus   float64 // to earth [ohm]
	packLeak              float64 // an open pack's posts [ohm]
	restMinutes, stepA    float64
}

// A shape is how a load draws: shares of constant power, resistance and constant current.
type shape struct{ power, ohmic, steady float64 }

// A control is the physics of a controller.
type control struct {
	stage         string  // absorb, float or equalise
	off           float64 // set-point off by [V], sensor apart
	sensorC       float64 // the compensation's sensor off by [K]
	cutOff        float64 // thresholds of the load output off by [V]
	pathV, pathA  float64 // drop of the blocking part at the rated current, slope [V]
	pathOhm       float64
	reverse       bool    // a protection diode conducts when the array is reversed
	own           float64 // own use against the file
	alone         bool    // works on the array without a battery
	bleed         float64 // load of its terminals when it sleeps [ohm]
	phase         string  // what a meter shows while it regulates
	hysteresis    float64 // of slow on/off regulation [V]
	ripple        float64 // error of a meter on pulses, relative
	efficiency    float64 // of an mppt converter
	track, startW float64 // power lost beside the best point; least power to start
	above         bool    // it stands above the best point's voltage
	outputOhm     float64
}

const (
	meanPhase = "mean" // fast pulses: the mean
	onPhase   = "on"   // slow: the array is on while the readings are taken
	offPhase  = "off"
)

// drawWorld draws a sound plant at the moment.
func (d dice) drawWorld(s *siteFile, cell cellKind, kind string) *world {
	w := &world{site: s, moment: d.drawMoment(s, kind), array: d.drawArray(s, cell), store: d.drawStore(s), drawn: map[string]float64{}, shapes: map[string]shape{}}
	w.control = d.drawControl(s)
	w.battJ, w.loadJ = d.log(0.0005, 0.03), d.log(0.001, 0.03)
	for _, l := range s.Loads {
		w.drawn[l.Label] = d.between(0.82, 1.18)
		switch l.Kind {
		case "cycling": // its thermostat may have it off
			w.drawn[l.Label] *= pick(d, 0.0, 1, 1)
		case "unsteady":
			w.drawn[l.Label] *= d.between(0.3, 1.2)
		}
		a, b, c := d.Float64(), d.Float64(), 0.6*d.Float64()
		w.shapes[l.Label] = shape{a / (a + b + c), b / (a + b + c), c / (a + b + c)}
		if d.chance(0.5) {
			w.loadsOn = append(w.loadsOn, l.Label)
		}
	}
	w.restMinutes = pick(d, 10.0, 20, 30, 45, 60, 60, 90, 120)
	w.stepA = s.Battery.CapacityAh / d.between(7, 22)
	w.packLeak = d.log(3e4, 1e9)
	w.charge(d)
	if s.parts {
		d.drawParts(w)
	}
	return w
}

// charge draws the charge level that goes with the moment.
func (w *world) charge(d dice) {
	b := &w.store
	switch w.kind {
	case rundown:
		b.soc = d.between(0.005, 0.17)
		w.latched = true
	case sun:
		b.soc = d.between(0.2, 0.97)
		if d.chance(0.35) {
			w.nearFull(d)
		}
	default:
		b.soc = d.between(0.2, 0.97)
	}
	w.surface(d)
}

// nearFull lets the controller have something to hold.
func (w *world) nearFull(d dice) {
	w.store.soc = 1 - 0.06*d.Float64()*d.Float64()
	if w.light < sunFrom {
		w.store.soc = max(w.store.soc, 0.97)
	}
	if d.chance(0.7) { // and the loads small
		w.loadsOn = slices.DeleteFunc(w.loadsOn, func(string) bool { return d.chance(0.5) })
	}
	w.surface(d)
}

// surface charge: a full battery stood 0.6 V above the tables one hour after charge
// (leadacid17ah and a measured 100 Ah battery). An LFP cell shows hysteresis.
func (w *world) surface(d dice) {
	b := &w.store
	charging := w.light >= weakFrom && !w.fault.noCharge()
	if !w.site.leadAcid() {
		b.surfT = math.Inf(1) // does not fade within a visit
		b.surf = -b.hyst
		if charging {
			b.surf = b.hyst
		}
		return
	}
	switch {
	case charging && b.soc > 0.93:
		b.surf = d.between(0.005, 0.09)
	case charging:
		b.surf = d.between(0, 0.025)
	case b.soc > 0.85:
		b.surf = d.between(0, 0.03)
	default:
		b.surf = d.between(-0.012, 0.008)
	}
}

// drawControl draws the physics of a sound controller.
func (d dice) drawControl(s *siteFile) control {
	n := s.twelves()
	c := control{
		stage: "absorb", off: n * clamp(0.06*d.NormFloat64(), -0.2, 0.2), sensorC: pick(d, 0, d.between(-5, 5)),
		cutOff: n * d.between(-0.08, 0.08), pathOhm: d.between(0.004, 0.025) * 10 / max(s.Control.RatedA, 5),
		reverse: d.chance(0.6), own: d.between(0.7, 1.5), alone: d.chance(0.4), bleed: d.log(2e3, 40e3),
		phase: meanPhase, ripple: 0.004 * d.between(-1, 1),
		efficiency: d.between(0.9, 0.985), track: d.between(0, 0.03), above: d.chance(0.5),
		startW: s.arrayW() * d.log(0.0007, 0.006), outputOhm: d.log(0.003, 0.03) * 10 / max(s.Control.RatedA, 5),
	}
	if s.Control.FloatV < s.Control.AbsorbV && d.chance(0.4) {
		c.stage = "float"
	}
	if s.Battery.EqualiseV > 0 && d.chance(0.15) {
		c.stage = "equalise"
	}
	switch pick(d, "mosfet", "schottky", "silicon") { // 0.05 to 1.0 V at the rated current (common practice)
	case "mosfet":
		c.pathV, c.pathA = d.between(0.05, 0.2), 0.003
	case "schottky":
		c.pathV, c.pathA = d.between(0.33, 0.55), 0.025
	default:
		c.pathV, c.pathA = d.between(0.65, 1), 0.045
	}
	if s.Control.Kind != mpptKind && d.chance(0.3) { // slow on/off regulation
		c.phase, c.hysteresis = pick(d, meanPhase, onPhase, offPhase), n*d.between(0.1, 0.3)
	}
	return c
}

// setPoint is what the controller holds as its mean [V].
func (w *world) setPoint() float64 {
	c := w.site.Control
	v := c.AbsorbV
	switch w.stage {
	case "float":
		v = c.FloatV
	case "equalise":
		v = w.site.Battery.EqualiseV
	}
	cells := float64(w.site.NominalV) / 2
	return v + c.CompMV/1000*cells*(w.batteryC-stcC) + w.deviation() + w.fault.shift
}

// deviation of the set-point by its own error and by its sensor [V].
func (w *world) deviation() float64 {
	return w.off + w.site.Control.CompMV/1000*float64(w.site.NominalV)/2*w.sensorC
}

// Limits of a sound plant, by the table of conditions in the file formats.
const (
	mostSoiling  = 0.07
	mostJoint    = 0.020 // [ohm]
	mostWear     = 1.8
	leastPart    = 0.8
	mostSetPoint = 0.15 // [V] for 12 V
)

// withinSound says what of the plant is beyond the limits of sound; the faults apart.
func (w *world) withinSound() error {
	n := w.site.twelves()
	switch {
	case w.array.soiling > mostSoiling:
		return errors.New("soiling")
	case w.array.joint > mostJoint || w.battJ > mostJoint || w.loadJ > mostJoint || w.inverterJ > mostJoint/2:
		return errors.New("a joint")
	case w.store.wear > mostWear:
		return errors.New("battery resistance")
	case w.store.part < leastPart:
		return errors.New("capacity")
	case math.Abs(w.deviation()) > mostSetPoint*n:
		return errors.New("set-point")
	}
	return nil
}

// clone is a copy that can get a fault of its own.
func (w *world) clone() *world {
	c := *w
	c.store.strings = slices.Clone(w.store.strings)
	c.loadsOn = slices.Clone(w.loadsOn)
	c.drawn = maps.Clone(w.drawn)
	return &c
}

// disturbed lets the conditions act on a copy; twin is the same plant without them.
func (w *world) disturbed(d dice, ids ...string) (faulty, twin *world) {
	faulty = w.clone()
	for _, id := range ids {
		kindOf(id).act(d, faulty)
	}
	if faulty.fault.noCharge() {
		faulty.surface(d)
	}
	faulty.conditions = ids
	twin = faulty.clone()
	twin.conditions, twin.fault = nil, fault{}
	soc, surf, surfT := twin.store.soc, twin.store.surf, twin.store.surfT
	twin.store = w.clone().store
	twin.store.soc, twin.store.surf, twin.store.surfT = soc, surf, surfT
	twin.array.soiling = w.array.soiling
	return faulty, twin
}

func (w *world) note(format string, args ...any) {
	w.fault.notes = append(w.fault.notes, fmt.Sprintf(format, args...))
}

// someLoad switches a load on that the load circuit feeds, if there is one.
func (w *world) someLoad(d dice) {
	var main []string
	for _, l := range w.site.Loads {
		if w.site.onMain(l) {
			main = append(main, l.Label)
			if slices.Contains(w.loadsOn, l.Label) {
				return
			}
		}
	}
	if len(main) > 0 {
		w.loadsOn = append(w.loadsOn, pick(d, main...))
	}
}

// loadsFrom switches on what hangs on a source.
func (w *world) loadsFrom(from string) {
	for _, l := range w.site.Loads {
		if w.site.source(l) == from && !slices.Contains(w.loadsOn, l.Label) {
			w.loadsOn = append(w.loadsOn, l.Label)
		}
	}
}
