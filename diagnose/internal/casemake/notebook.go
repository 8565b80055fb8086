package main

import (
	"math"
	"slices"
	"time"
)

// An instrument with its limits of error, and where in them it lies in this case.
type instrument struct {
	Percent    float64 `toml:"percent,omitempty"`
	Digits     float64 `toml:"digits,omitempty"`
	Resolution float64 `toml:"resolution,omitempty"`
	PlusMinus  float64 `toml:"plus_minus,omitempty"`
	gain, zero float64 // in -1 to 1 of the limit
	step       float64 // it is read to this
}

const (
	voltmeter   = "voltmeter"
	ampClamp    = "clamp"
	lightMeter  = "irradiance"
	thermometer = "thermometer"
	hydrometer  = "hydrometer"
)

// A spec says where a number stands in the readings file, and with what it is read.
type spec struct {
	key, section, name, meter string
}

const (
	asFound   = "as_found"
	loadsOff  = "loads_off"
	isolated  = "array_isolated"
	isRested  = "battery_rested"
	stepTaken = "load_step"
)

// specs are the numbers in the order of the readings file.
var specs = []spec{
	{"irradiance_w_m2", asFound, "irradiance_w_m2", lightMeter},
	{"module_c", asFound, "module_c", thermometer},
	{"air_c", asFound, "air_c", thermometer},
	{"battery_c", asFound, "battery_c", thermometer},
	{"array_v", asFound, "array_v", voltmeter},
	{"module_v", asFound, "module_v", voltmeter},
	{"array_a", asFound, "array_a", ampClamp},
	{"battery_v", asFound, "battery_v", voltmeter},
	{"post_v", asFound, "post_v", voltmeter},
	{"battery_a", asFound, "battery_a", ampClamp},
	{"load_v", asFound, "load_v", voltmeter},
	{"load_a", asFound, "load_a", ampClamp},
	{"load_end_v", asFound, "load_end_v", voltmeter},
	{"inverter_a", asFound, "inverter_a", ampClamp},
	{"inverter_v", asFound, "inverter_v", voltmeter},
	{"charger_a", asFound, "charger_a", ampClamp},
	{"plus_earth_v", asFound, "plus_earth_v", voltmeter},
	{"minus_earth_v", asFound, "minus_earth_v", voltmeter},
	{"standby_a", loadsOff, "standby_a", ampClamp},
	{"open_v", isolated, "open_v", voltmeter},
	{"short_a", isolated, "short_a", ampClamp},
	{"array_isolated.irradiance_w_m2", isolated, "irradiance_w_m2", lightMeter},
	{"array_isolated.module_c", isolated, "module_c", thermometer},
	{"rest_v", isRested, "rest_v", voltmeter},
	{"step_a", stepTaken, "step_a", ampClamp},
	{"load_step.post_v", stepTaken, "post_v", voltmeter},
}

// A notebook is what a person with ordinary instruments writes down.
type notebook struct {
	dice
	w           *world
	at          time.Time
	loadsOn     []string
	instruments map[string]*instrument
	numbers     map[string]float64
	lists       map[string][]float64
	words       map[string]string
	lamps       map[string]string
	invLamps    map[string]string
	minutes     int
	story       story
	suspect     []string
	slip        string
}

const (
	missingShare = 0.08
	wrongLamp    = 0.02
	wrongWord    = 0.07
)

// newNotebook draws instruments with ordinary limits (common practice), each with a gain
// and a zero of its own within them.
func newNotebook(d dice, w *world) *notebook {
	n := &notebook{
		dice: d, w: w, at: w.at, loadsOn: slices.Clone(w.loadsOn), numbers: map[string]float64{}, lists: map[string][]float64{},
		words: map[string]string{}, lamps: map[string]string{}, invLamps: map[string]string{},
	}
	coarse := pick(d, 0.01, 0.01, 0.01, 0.01, 0.1)
	digits := 3 + float64(d.IntN(4))
	if coarse > 0.05 {
		digits = 2
	}
	n.instruments = map[string]*instrument{
		voltmeter:   {Percent: round(d.between(0.5, 1.2), 1), Digits: float64(2 + d.IntN(2)), Resolution: 0.01, step: 0.01},
		ampClamp:    {Percent: round(d.between(1.5, 3), 1), Digits: digits, Resolution: coarse, step: coarse},
		lightMeter:  {Percent: 7, Digits: 5, Resolution: 1, step: 1},
		thermometer: {PlusMinus: 2, step: 1},
		hydrometer:  {PlusMinus: 0.005, step: 0.002},
	}
	for _, name := range []string{voltmeter, ampClamp, lightMeter, thermometer, hydrometer} {
		i := n.instruments[name]
		i.gain, i.zero = d.between(-1, 1), d.between(-1, 1)
	}
	return n
}

// shown is what the meter shows of v: within its limits, with a little that is new each
// time, rounded.
func (n *notebook) shown(meter string, v float64) float64 {
	i := n.instruments[meter]
	limit := i.Percent/100*math.Abs(v) + i.Digits*i.Resolution + i.PlusMinus
	off := i.Percent/100*v*i.gain + (i.Digits*i.Resolution+i.PlusMinus)*i.zero
	off += 0.15 * limit * n.between(-1, 1)
	x := v + clamp(off, -limit, limit)
	return round(math.Round(x/i.step)*i.step, 3)
}

// take writes down what the plant shows; some things are left out.
func (n *notebook) take(f *found) {
	w := n.w
	left := map[string]bool{}
	if n.chance(0.3) { // someone in a hurry
		for _, section := range []string{loadsOff, isolated, isRested, stepTaken} {
			left[section] = n.chance(0.45)
		}
	}
	back := w.array.cellAbove / stcLight // [K m2/W]
	f.values["irradiance_w_m2"] = w.light * w.array.uneven
	f.values["array_isolated.irradiance_w_m2"] = w.lightIsolated
	f.values["module_c"], f.values["array_isolated.module_c"] = w.cellC-back*w.light, w.cellCIsolated-back*w.lightIsolated
	f.values["air_c"], f.values["battery_c"] = w.airC, w.batteryC
	for _, s := range specs {
		v, ok := f.values[s.key]
		skip := left[s.section] || n.chance(missingShare) || s.key == "short_a" && !w.site.shortTest
		if s.section == isolated && s.meter != voltmeter && s.meter != ampClamp && n.chance(0.3) {
			skip = true
		}
		if !ok || skip {
			continue
		}
		x := n.shown(s.meter, v)
		if s.meter == lightMeter {
			x = max(x, 0)
		}
		n.numbers[s.key] = x
	}
	if !left[isRested] {
		n.minutes = int(w.restMinutes)
	}
	if w.fault.packOff {
		delete(n.numbers, "load_step.post_v")
		delete(n.numbers, "step_a")
	}
	if w.site.Earthing == nil { // nobody asked how the poles stand to earth
		delete(n.numbers, "plus_earth_v")
		delete(n.numbers, "minus_earth_v")
	}
	n.list("block_v", voltmeter, f.block, 0.004*float64(w.site.Battery.CellsEach), left[isRested])
	n.list("gravity", hydrometer, f.gravity, 0.003, left[isRested] || !w.site.leadAcid())
	if w.site.parts {
		n.list("load_step.block_v", voltmeter, f.blockStep, 0.004*float64(w.site.Battery.CellsEach), left[stepTaken])
		if w.site.Battery.Strings > 1 {
			n.list("string_a", ampClamp, f.stringA, 0, false)
		}
	}
	n.look()
	n.lampsOf(f)
	if w.site.parts {
		n.story = n.tell(f)
	}
}

// list writes a reading of each block, cell or string down; they differ by a little.
func (n *notebook) list(key, meter string, vs []float64, apart float64, left bool) {
	if left || len(vs) == 0 || n.chance(missingShare) {
		return
	}
	var out []float64
	for _, v := range vs {
		out = append(out, n.shown(meter, v+apart*n.between(-1, 1)))
	}
	n.lists[key] = out
}

// word writes one of the choices down, now and then the next one.
func (n *notebook) word(key string, choice int, choices ...string) {
	if n.chance(missingShare) {
		return
	}
	if n.chance(wrongWord) {
		choice += pick(n.dice, -1, 1)
	}
	n.words[key] = choices[min(max(choice, 0), len(choices)-1)]
}

// look is what eyes see of sky, shadow and glass.
func (n *notebook) look() {
	w := n.w
	shade, glass := 0, 0
	if w.fault.shadedGroups > 0 && w.light >= duskFrom {
		shade = 1
		if w.fault.shadedGroups == w.site.Array.Series*w.site.Array.Module.Bypass && w.site.Array.Strings == 1 {
			shade = 2
		}
	}
	if lost := w.fault.lightLost + w.array.soiling; lost > 0.3 {
		glass = 2
	} else if lost > n.between(0.02, 0.08) {
		glass = 1
	}
	n.word("sky", w.sky, skies...)
	n.word("shade", shade, "none", "part", "full")
	n.word("glass", glass, "clean", "dusty", "caked")
}
