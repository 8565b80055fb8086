package virtualsite

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// oneReading is what taking a reading costs.
const oneReading = time.Minute

// earth is the point of the earth rod's wire.
const earth = "earth"

// Points are where probes can go: the terminals of the wiring drawing that this
// site has, each pair's plus first, then earth.
func (b *Bench) Points() []string {
	var list []string
	for _, p := range b.Pairs() {
		list = append(list, p+"+", p+"-")
	}
	if b.setup.Site.Earthing != "" {
		list = append(list, earth)
	}
	return list
}

// Pairs are the terminals by twos.
func (b *Bench) Pairs() []string {
	if b.kit() != nil { // at the adapter lead, the panel's plug and a spare lamp lead
		if b.isolated() {
			return []string{"array-side", "array", "load"}
		}
		return []string{"array", "load"}
	}
	pairs := []string{"module", "array", "controller-battery", "post"}
	if b.isolated() {
		pairs = []string{"module", "array-side", "array", "controller-battery", "post"}
	}
	if b.setup.Site.Controller.LoadOutput {
		pairs = append(pairs, "load")
	}
	if len(b.setup.Site.Loads) > 0 {
		pairs = append(pairs, "load-end")
	}
	if b.setup.Site.Battery.Blocks > 1 {
		pairs = append(pairs, "block")
	}
	if b.setup.Site.Inverter != nil {
		pairs = append(pairs, "inverter")
	}
	return pairs
}

// split is the pair of a point and whether it is the plus of it; earth is a pair by itself.
func split(point string) (pair string, plus bool) {
	if point == earth {
		return earth, true
	}
	return point[:len(point)-1], point[len(point)-1] == '+'
}

// Wires are what the clamp can go around: one wire, or both of a circuit.
func (b *Bench) Wires() []string {
	if b.kit() != nil {
		return []string{"array-wire", "both-array-wires"}
	}
	list := []string{"array-wire", "battery-wire", "both-array-wires", "both-battery-wires"}
	if len(b.setup.Site.Loads) > 0 {
		list = append(list, "load-wire", "both-load-wires")
	}
	if b.setup.Site.Battery.Parallel() > 1 {
		list = append(list, "string-wires")
	}
	if b.setup.Site.Inverter != nil {
		list = append(list, "inverter-wire", "both-inverter-wires")
	}
	if b.setup.Site.Charger != nil {
		list = append(list, "charger-wire", "both-charger-wires")
	}
	return list
}

// pairs are the voltages that a visit asks for, by the pair of points.
var pairs = map[string]struct {
	as   reading.Key // as found
	from plant.Index
}{
	"module": {reading.ModuleV, plant.ModuleV}, "array": {reading.ArrayV, plant.ArrayV},
	"controller-battery": {reading.BatteryV, plant.BatteryV}, "post": {reading.PostV, plant.PostV},
	"load": {reading.LoadV, plant.LoadV}, "load-end": {reading.LoadEndV, plant.LoadEndV},
	"inverter": {reading.InverterV, plant.InverterV},
}

// placeOf is where one stands to touch a pair.
func placeOf(pair string) Place {
	switch pair {
	case "module":
		return AtArray
	case "post", "block", "inverter", earth:
		return AtBattery
	case "load-end":
		return AtLoads
	}
	return AtController
}

// Probe touches two points with the probes, red first, and shows the display.
func (b *Bench) Probe(red, black string) (Display, error) {
	known := b.Points()
	for _, p := range []string{red, black} {
		if !slices.Contains(known, p) {
			return Display{}, fmt.Errorf(texts().Problem.NoPoint, p, strings.Join(known, ", "))
		}
	}
	pair, plus := split(red)
	other, _ := split(black)
	same := pair == other
	for _, p := range []string{pair, other} {
		b.touch(placeOf(p))
		b.highVoltage(p)
	}
	x, k := b.between(red, black)
	defer b.pass(oneReading)
	if same {
		b.times[pair]++
	}
	switch live := math.Abs(x) > liveV; {
	case b.meter.Socket == AmpSocket || b.meter.Function == DCAmps:
		return b.through(x, pair, same), nil
	case b.meter.Function == Ohms && live:
		b.commit("ohms-live")
		return Display{Text: "OL", Note: texts().Nonsense}, nil
	case b.meter.Function == Ohms:
		return Display{Text: "OL", Note: texts().OhmsHere}, nil
	case b.meter.Function == ACVolts:
		rms := 0.0
		if pair == "array" && same || pair == "module" && same {
			rms = b.pulseRMS()
		}
		d := b.volts("", rms+0.003*math.Abs(x))
		d.Note = texts().AC
		return d, nil
	case pair == "block" && same:
		return b.eachBlock(), nil
	}
	d := b.volts(k, x)
	if same && !plus || pair == earth {
		d.Reads = -d.Value
	}
	return d, nil
}

// liveV is from where on a circuit can drive a current worth the name [V].
const liveV = 1

// between is the voltage from black to red and the reading that it is.
func (b *Bench) between(red, black string) (float64, reading.Key) {
	pair, plus := split(red)
	other, otherPlus := split(black)
	switch {
	case red == black:
		return 0, ""
	case pair == other:
		x, k := b.across(pair)
		if !plus {
			return -x, k
		}
		return x, k
	case pair == "post" && other == earth:
		return b.toEarth(plus)
	case pair == earth && other == "post":
		x, k := b.toEarth(otherPlus)
		return -x, k
	}
	vr, okR := b.potential(red)
	vb, okB := b.potential(black)
	if !okR || !okB {
		return b.floating(red + black), ""
	}
	return vr - vb, ""
}

// across is the voltage of a pair, plus to minus, and which reading it is now.
func (b *Bench) across(pair string) (float64, reading.Key) {
	s := b.solve()
	var k reading.Key
	switch pair {
	case "array-side":
		x, _ := b.value(&s.array, plant.OpenV)
		if b.open.Shorted {
			x = 0.02
		} else {
			k = reading.OpenV
		}
		return x, k
	case "module":
		if b.open.Shorted {
			return 0.03 * s.array.Value[plant.ShortA], ""
		}
	case "post":
		switch {
		case b.stepping():
			k = reading.StepPostV
		case b.restedEnough():
			k = reading.RestV
		case b.asFound():
			k = reading.PostV
		}
		if s.found.Floats[plant.PostV] {
			return b.floating("post"), k
		}
		return b.posts(), k
	case "block":
		return b.blocks()[0], ""
	case "controller-battery":
		if b.rest != nil && b.quiet() && !s.found.Floats[plant.BatteryV] {
			return b.posts(), ""
		}
	}
	p := pairs[pair]
	x, _ := b.value(&s.found, p.from)
	if b.asFound() {
		k = p.as
	}
	return x, k
}

// potential of a point against the controller's common minus [V]; half of what a
// cable drops is in its minus wire, all of what a bad joint drops in its plus wire. False where nothing ties it there.
func (b *Bench) potential(point string) (float64, bool) {
	pair, plus := split(point)
	s := b.solve()
	if pair == earth {
		at, tied := b.potential("post-")
		x, _ := b.toEarth(false)
		return at - x, tied && !s.found.Floats[plant.MinusEarthV]
	}
	x, _ := b.across(pair)
	minus := 0.0
	v, f := &s.found.Value, &s.u.Fault
	switch pair {
	case "array-side":
		return 0, false
	case "module":
		if b.isolated() || s.found.Floats[plant.ArrayV] {
			return 0, false
		}
		minus = -(v[plant.ModuleV] - v[plant.ArrayV] - v[plant.ArrayA]*f.JointAfter) / 2
	case "post", "block":
		if s.found.Floats[plant.BatteryV] || b.open.BatteryFuse {
			return 0, false
		}
		minus = (v[plant.BatteryV] - v[plant.PostV] - v[plant.BatteryA]*f.BatteryJoint) / 2
	case "load-end":
		if s.found.Floats[plant.LoadEndV] {
			return 0, false
		}
		near := v[plant.LoadV]
		if !b.setup.Site.Controller.LoadOutput {
			near = v[plant.PostV]
		}
		minus = (near - v[plant.LoadEndV] - v[plant.LoadA]*f.LoadJoint) / 2
	case "load":
		if s.found.Floats[plant.LoadV] {
			return 0, !plus
		}
	case "inverter":
		at := "post"
		if b.setup.Site.Inverter.From == site.FromOutput {
			at = "load"
		}
		below, tied := b.potential(at + "-")
		near, _ := b.across(at)
		if !tied || s.found.Floats[plant.InverterV] {
			return 0, false
		}
		minus = below + (near-x-v[plant.InverterA]*f.InverterJoint)/2
	}
	if plus {
		return minus + x, true
	}
	return minus, true
}

// through is the multimeter with its current path across a voltage.
func (b *Bench) through(x float64, pair string, same bool) Display {
	if b.open.meterFuse {
		return Display{Text: "0.00", Note: texts().FuseIsBlown}
	}
	if math.Abs(x) < 0.2 {
		return Display{Text: "0.00", Note: texts().ThroughNothing}
	}
	array := (pair == "module" || pair == "array-side") && same
	if array && b.isolated() {
		b.commit("array-through-meter")
		return Display{Text: fmt.Sprintf("%.2f", b.solve().array.Value[plant.ShortA]), Note: texts().ThroughArray}
	}
	b.commit("meter-fuse")
	b.open.meterFuse = true
	return Display{Text: "0.00"}
}

func (b *Bench) eachBlock() Display {
	d := Display{Shown: true}
	switch {
	case b.stepping():
		d.Reading = reading.StepBlockV
	case b.restedEnough():
		d.Reading = reading.BlockV
	}
	for _, x := range b.blocks() {
		one := b.volts(reading.BlockV, x)
		if !one.Shown {
			return one
		}
		d.List, d.Coarse = append(d.List, one.Value), one.Coarse
	}
	d.Text = listText(d.List, "V")
	return d
}

// Embrace closes the clamp around a wire, its arrow toward the controller (for
// the array's), into the battery or toward the loads; turned is the other way.
func (b *Bench) Embrace(wire string, turned bool) (Display, error) {
	known := b.Wires()
	if !slices.Contains(known, wire) {
		return Display{}, fmt.Errorf(texts().Problem.NoWire, wire, strings.Join(known, ", "))
	}
	if !strings.Contains(wire, "array") && !strings.Contains(wire, "load") {
		b.touch(AtBattery)
	} else {
		b.touch(AtController)
	}
	defer b.pass(oneReading)
	b.times[wire]++
	if strings.HasPrefix(wire, "both-") {
		d := b.amps("", 0)
		d.Note = texts().BothWires
		return d, nil
	}
	if wire == "string-wires" {
		return b.eachString(turned), nil
	}
	x, k := b.current(wire)
	if turned {
		x = -x
	}
	d := b.amps(k, x)
	if spec, _ := reading.SpecOf(k); turned != spec.Turned() {
		d.Reads = -d.Value
	}
	return d, nil
}

// current in a wire, counted as the clamp's arrow is, and which reading it is.
func (b *Bench) current(wire string) (float64, reading.Key) {
	s := b.solve()
	v := &s.found.Value
	asFound := func(k reading.Key) reading.Key {
		if b.asFound() {
			return k
		}
		return ""
	}
	switch wire {
	case "array-wire":
		if b.open.Shorted {
			return s.array.Value[plant.ShortA], reading.ShortA
		}
		if b.isolated() {
			return 0, ""
		}
		return v[plant.ArrayA], asFound(reading.ArrayA)
	case "load-wire":
		return v[plant.LoadA], asFound(reading.LoadA)
	case "inverter-wire":
		return v[plant.InverterA], asFound(reading.InverterA)
	case "charger-wire":
		return v[plant.ChargerA], asFound(reading.ChargerA)
	}
	switch {
	case b.open.BatteryFuse:
		return 0, ""
	case b.stepping():
		return v[plant.BatteryA], reading.StepA
	case b.quiet():
		return v[plant.BatteryA], reading.StandbyA
	}
	return v[plant.BatteryA], asFound(reading.BatteryA)
}

// highVoltage marks a probe on a circuit above what this tool touches, or beside
// one: the array's terminals stand with the others at the controller.
func (b *Bench) highVoltage(pair string) {
	place := placeOf(pair)
	if (place == AtArray || place == AtController) && b.setup.Site.OpenCircuitColdV() > touchV {
		b.commit("above-60")
	}
}

// touchV is the limit of what is touched with probes [V]: IEC 60364-4-41
// 414.4.5 (from memory), as in procedure.
const touchV = 60

// toEarth is the voltage from a post to earth, with the reading that it is.
func (b *Bench) toEarth(plus bool) (float64, reading.Key) {
	i, k := plant.MinusEarthV, reading.MinusEarthV
	if plus {
		i, k = plant.PlusEarthV, reading.PlusEarthV
	}
	if !b.asFound() {
		k = ""
	}
	x, _ := b.value(&b.solve().found, i)
	return x, k
}

// Right is what a rightly set and placed instrument would show of reading k now
// and its limits of error; false where k is no number or cannot be taken now.
func (b *Bench) Right(k reading.Key) (x, limit float64, ok bool) {
	s := b.solve()
	spec, known := reading.SpecOf(k)
	i, number := plant.IndexOf(k)
	if !known || !number {
		return 0, 0, false
	}
	o := &s.found
	switch k {
	case reading.OpenV, reading.ShortA:
		o = &s.array
	case reading.RestV, reading.StepPostV, reading.StepA:
		if b.rest == nil {
			return 0, 0, false
		}
		o = &s.rest
	}
	x, _ = b.value(o, i)
	switch k {
	case reading.StandbyA:
		x = -s.found.Value[plant.BatteryA]
	case reading.StepA:
		x = -s.found.Value[plant.BatteryA]
	case reading.Irradiance2:
		x = s.u.Irradiance
	case reading.ModuleC2:
		x = s.u.CellC
	}
	x = b.misled(k, x)
	return x, b.setup.Instruments[spec.Meter].Limit(x), true
}
