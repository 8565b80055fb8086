package main

import (
	"math"
	"slices"
)

// Where a circuit is open or a draw is wired.
const (
	beforePlug = "before"
	afterPlug  = "after"

	atPosts  = "post"
	atBus    = "bus"
	atOutput = "load output"
)

// A fault is what all conditions at work change in the plant.
type fault struct {
	arrayOpen               string
	reversed                bool
	jointBefore, jointAfter float64 // [ohm]
	lightLost, currentLost  float64
	shadedGroups            int
	shadeLight              float64
	stringsOpen             int
	bypassShorts            int
	chargeOpen, chargeStuck bool
	shift                   float64 // of the set-point [V]
	leakOhm                 float64 // across the array, with a failed blocking part
	dead, loadOff           bool
	batteryOpen, packOff    bool
	batteryJoint            float64 // [ohm]
	loadOpen                bool
	loadX                   float64 // 0: as the labels say
	drainA                  float64
	drainAt                 string
	loadJoint               float64 // [ohm]

	cableShort, shortAt float64 // [ohm], share of the cable before it
	badLoad             string  // label of an appliance that does not work
	badShare            float64 // what it still draws
	cutFails            bool
	inverterOff         bool
	inverterJoint       float64 // [ohm]
	earthOhm            float64 // 0: none
	earthAt             float64 // share of the system's voltage above minus
	lowAcid             bool

	notes []string
}

// A kind is one condition: whether the site can have it, at which moments it shows,
// and what it does.
type kind struct {
	id      string
	part    string
	parts   bool // of section 6
	applies func(s *siteFile) bool
	moments []string
	act     func(d dice, w *world)
}

func always(*siteFile) bool { return true }

func hasMainLoads(s *siteFile) bool { return s.mainW() > 0 }

var (
	byDay    = []string{sun, sun, sun, sun, weak}
	inSun    = []string{sun}
	anyTime  = []string{sun, sun, weak, dusk, night}
	darkOnly = []string{night, night, dusk}
)

func kindOf(id string) *kind {
	k := slices.IndexFunc(kinds, func(k kind) bool { return k.id == id })
	return &kinds[k]
}

// kinds are all conditions but sound. Limits are those of the table of conditions in the
// file formats: "counts as this fault when".
var kinds = []kind{
	{"array-open", "array", false, always, byDay, func(d dice, w *world) {
		w.fault.arrayOpen = pick(d, beforePlug, afterPlug)
		w.note("open %s the array's plug", w.fault.arrayOpen)
	}},
	{"array-reversed", "array", false, always, byDay, func(d dice, w *world) { w.fault.reversed = true }},
	{"array-joint", "array", false, always, inSun, func(d dice, w *world) {
		ohm := d.log(0.04, 0.5) * w.arrayOhm()
		if d.chance(1.0 / 3) {
			w.fault.jointBefore = ohm
		} else {
			w.fault.jointAfter = ohm
		}
		w.note("joint %.2f ohm", ohm)
	}},
	{"array-soiled", "array", false, always, byDay, func(d dice, w *world) {
		w.fault.lightLost = d.between(0.15, 0.5)
		w.array.soiling = 0
		w.note("soiling %.2f", w.fault.lightLost)
	}},
	{"array-aged", "array", false, always, byDay, func(d dice, w *world) {
		w.fault.currentLost = d.between(0.15, 0.4)
		w.note("current lost %.2f", w.fault.currentLost)
	}},
	{"array-shaded", "array", false, always, byDay, func(d dice, w *world) {
		most := w.site.Array.Series * w.site.Array.Module.Bypass
		w.fault.shadedGroups = 1 + d.IntN(most)
		if d.chance(0.5) {
			w.fault.shadedGroups = 1
		}
		w.fault.shadeLight = d.between(0, 0.4)
		w.note("%d of %d bypass groups at %.2f", w.fault.shadedGroups, most, w.fault.shadeLight)
	}},
	{"string-open", "array", false, func(s *siteFile) bool { return s.Array.Strings > 1 }, byDay, func(d dice, w *world) {
		w.fault.stringsOpen = 1
	}},
	{"bypass-short", "array", false, always, inSun, func(d dice, w *world) { w.fault.bypassShorts = 1 }},
	{"charge-path-open", "controller", false, always, byDay, func(d dice, w *world) { w.fault.chargeOpen = true }},
	{"charge-path-stuck", "controller", false, always, inSun, func(d dice, w *world) {
		w.fault.chargeStuck = true
		w.nearFull(d)
	}},
	{"set-point-low", "controller", false, always, inSun, func(d dice, w *world) {
		w.shiftSetPoint(d, -1)
		w.note("set-point %.2f V low", -w.fault.shift-w.deviation())
	}},
	{"set-point-high", "controller", false, always, inSun, func(d dice, w *world) {
		w.shiftSetPoint(d, 1)
		w.note("set-point %.2f V high", w.fault.shift+w.deviation())
	}},
	{"reverse-leak", "array", false, always, darkOnly, func(d dice, w *world) {
		most := max(0.3, 0.02*w.site.Battery.CapacityAh)
		amps := d.log(0.13, most)
		w.fault.leakOhm = 12 * w.site.twelves() / amps
		w.note("leak about %.2f A in the dark", amps)
	}},
	{"controller-dead", "controller", false, always, anyTime, func(d dice, w *world) { w.fault.dead = true }},
	{"load-output-open", "load", false, func(s *siteFile) bool { return s.Control.Output }, anyTime, func(d dice, w *world) {
		w.fault.loadOff = true
		w.store.soc = max(w.store.soc, d.between(0.45, 0.95))
		w.latched = false
	}},
	{"battery-open", "battery", false, always, anyTime, func(d dice, w *world) { w.fault.batteryOpen = true }},
	{"battery-joint", "battery", false, always, anyTime, func(d dice, w *world) {
		w.fault.batteryJoint = d.log(0.03, 0.5) * w.site.twelves()
		w.note("battery joint %.3f ohm", w.fault.batteryJoint)
	}},
	{"cell-short", "battery", false, always, anyTime, (dice).shortCell},
	{"battery-worn", "battery", false, always, anyTime, func(d dice, w *world) {
		w.store.wear, w.store.part = d.between(3, 8), d.between(0.2, 0.6)
		w.note("capacity %.2f, resistance x%.1f", w.store.part, w.store.wear)
	}},
	{"battery-off", "battery", false, func(s *siteFile) bool { return s.Battery.Chemistry == lfp }, anyTime, func(d dice, w *world) {
		w.fault.packOff = true
	}},
	{"load-open", "load", false, hasMainLoads, anyTime, func(d dice, w *world) {
		w.fault.loadOpen = true
		w.someLoad(d)
	}},
	{"load-excess", "load", false, hasMainLoads, anyTime, func(d dice, w *world) {
		w.fault.loadX = d.between(1.4, 2.5)
		w.someLoad(d)
		w.note("loads draw x%.2f", w.fault.loadX)
	}},
	{"standby-drain", "load", false, always, anyTime, func(d dice, w *world) {
		least := max(0.05, 0.02*w.site.Battery.CapacityAh/24)
		w.fault.drainA = least * d.log(1.1, 8)
		w.fault.drainAt = pick(d, atPosts, atBus, atOutput)
		if !w.site.Control.Output {
			w.fault.drainAt = atPosts
		}
		w.note("draw %.3f A at %s", w.fault.drainA, w.fault.drainAt)
	}},
	{"load-joint", "load", false, hasMainLoads, anyTime, func(d dice, w *world) {
		// 8 % or more of the nominal voltage at the current of all listed loads.
		amps := w.site.mainW() / float64(w.site.NominalV)
		w.fault.loadJoint = d.between(0.085, 0.2) * float64(w.site.NominalV) / amps
		if d.chance(0.6) {
			w.loadsOn = nil
			for _, l := range w.site.Loads {
				w.loadsOn = append(w.loadsOn, l.Label)
			}
		}
		w.someLoad(d)
		w.note("load joint %.3f ohm", w.fault.loadJoint)
	}},

	{"appliance-fault", "load", true, always, anyTime, func(d dice, w *world) {
		l := pick(d, w.site.Loads...)
		w.fault.badLoad, w.fault.badShare = l.Label, pick(d, 0, d.between(0, 0.08))
		if !slices.Contains(w.loadsOn, l.Label) {
			w.loadsOn = append(w.loadsOn, l.Label)
		}
		w.note("%s does not work", l.Label)
	}},
	{"cut-off-fails", "controller", true, func(s *siteFile) bool { return s.Control.Output }, []string{night, weak, dusk}, func(d dice, w *world) {
		w.fault.cutFails = true
		w.store.soc = d.between(0, 0.06)
		w.loadsOn = nil
		for _, l := range w.site.Loads {
			w.loadsOn = append(w.loadsOn, l.Label)
		}
	}},
	{"inverter-off", "inverter", true, func(s *siteFile) bool { return s.Inverter != nil }, anyTime, func(d dice, w *world) {
		w.fault.inverterOff = true
		w.inverterOn = true
		w.store.soc = max(w.store.soc, d.between(0.5, 0.95))
	}},
	{"inverter-starved", "inverter", true, func(s *siteFile) bool { return s.Inverter != nil }, anyTime, func(d dice, w *world) {
		w.fault.inverterJoint = d.log(0.015, 0.2) * w.site.twelves()
		w.inverterOn = true
		w.loadsFrom(fromInverter)
		w.note("inverter joint %.3f ohm", w.fault.inverterJoint)
	}},
	{"block-weak", "battery", true, func(s *siteFile) bool { return s.Battery.Blocks > 1 }, anyTime, func(d dice, w *world) {
		x := d.between(2.5, 6)
		w.odd(d, oddBlock{cells: w.site.Battery.CellsEach, wear: x, below: d.between(0, 0.05)})
		w.note("block resistance x%.1f", x)
	}},
	{"battery-string-open", "battery", true, func(s *siteFile) bool { return s.batteryStrings() > 1 }, anyTime, func(d dice, w *world) {
		w.store.strings[d.IntN(len(w.store.strings))].open = true
	}},
	{"array-short", "array", true, always, byDay, func(d dice, w *world) {
		w.fault.cableShort, w.fault.shortAt = d.log(0.001, 0.03), d.between(0.05, 0.95)
		w.note("short at %.2f of the cable", w.fault.shortAt)
	}},
	{"earth-fault", "earth", true, func(s *siteFile) bool { return s.Earthing != nil && s.Earthing.Pole != "unknown" }, anyTime, (dice).faultToEarth},
	{"electrolyte-low", "battery", true, func(s *siteFile) bool { return s.Battery.Chemistry == flooded }, anyTime, func(d dice, w *world) {
		w.fault.lowAcid = true
		w.store.part = d.between(0.4, 0.8)
		w.store.wear = d.between(1.9, 4) // less plate takes part (judgement)
		w.store.dense += d.between(0.005, 0.035)
		w.note("capacity %.2f", w.store.part)
	}},
}

// shortCell takes one cell's voltage away. Its acid may still be near its neighbours':
// a fresh short has not yet emptied it (common practice).
func (d dice) shortCell(w *world) {
	o := oddBlock{cells: w.site.Battery.CellsEach - 1, wear: 1, acid: d.between(0, 0.1)}
	if w.site.leadAcid() {
		o.left = max(0, d.between(-0.2, 0.2)) // what the short leaves [V]
	}
	w.odd(d, o)
	w.note("cell shorted in block %d", w.store.strings[0].odd.block+1)
}

// odd puts an odd block into the first string.
func (w *world) odd(d dice, o oddBlock) {
	o.block, o.badCell = d.IntN(w.site.Battery.Blocks), d.IntN(w.site.Battery.CellsEach)
	w.store.strings[0].odd = o
}

// noCharge reports whether the battery gets nothing from the array.
func (f *fault) noCharge() bool {
	return f.arrayOpen != "" || f.reversed || f.chargeOpen || f.dead || f.batteryOpen || f.packOff || f.cableShort > 0
}

// shiftSetPoint moves what is regulated, all in all, by 0.4 to 1.2 V (12 V).
func (w *world) shiftSetPoint(d dice, sign float64) {
	w.fault.shift = sign*d.between(0.4, 1.2)*w.site.twelves() - w.deviation()
	w.nearFull(d)
}

// faultToEarth joins a conductor to earth that should not be.
func (d dice) faultToEarth(w *world) {
	at := pick(d, 0, 1, 0.5)
	least := 1.0
	switch w.pole() {
	case "minus":
		at, least = pick(d, 1, 1, 0.5), 50 // less would blow a fuse
	case "plus":
		at, least = pick(d, 0, 0, 0.5), 50
	}
	w.fault.earthAt, w.fault.earthOhm = at, d.log(least, 10e3)
	w.note("%.0f ohm to earth at %.1f of the voltage", w.fault.earthOhm, at)
}

// arrayOhm is the array's Vmp over Imp.
func (w *world) arrayOhm() float64 {
	a := w.site.Array
	return a.Module.Vmp * float64(a.Series) / (a.Module.Imp * float64(a.Strings))
}

func logOf(x float64) float64 { return math.Log(max(x, 1e-9)) }
