package virtualsite

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// A Function of the multimeter.
type Function string

// The functions.
const (
	DCVolts Function = "DC volts"
	ACVolts Function = "AC volts"
	Ohms    Function = "ohms"
	DCAmps  Function = "DC amperes"
)

// Functions are all functions.
var Functions = []Function{DCVolts, ACVolts, Ohms, DCAmps}

// A Socket is where the red lead is plugged in; the black one is in COM.
type Socket string

// The sockets.
const (
	VoltSocket Socket = "V"
	AmpSocket  Socket = "A"
)

// Ranges of the multimeter on volts [V]; a hand meter of 2000 counts.
var Ranges = []float64{2, 20, 200, 600}

// ClampRanges are those of the clamp [A].
var ClampRanges = []float64{20, 200}

// A Meter is how the multimeter is set.
type Meter struct {
	Function Function
	Range    float64 // [V]
	Socket   Socket
}

// A Clamp is how the clamp meter is set, DC.
type Clamp struct {
	Range  float64 // [A]
	Zeroed bool

	offset   float64 // where its zero stands before it is zeroed [A]
	zeroedAt time.Time
}

// counts of the display: 2000, so that one of 20 V shows 19.99 at most.
const counts = 2000

// A Display is what an instrument shows.
type Display struct {
	Text  string // "13.12 V", "OL"
	Note  string // what else one notices, a sentence; ""
	Value float64
	List  []float64
	Shown bool // whether Value or List is a number that was shown

	Reading reading.Key // what a visit calls this reading; "" where it asks for no such
	Reads   float64     // Value with the sign that the reading has, by where red and the arrow were
	Word    string      // of a look
	Several []string    // of a list of ids or labels; not nil where it is one
	Looked  []string    // which of them were looked for; nil: all
	Coarse  float64     // the last place [unit of the reading]
}

// SetMeter sets the multimeter. The range counts for volts only.
func (b *Bench) SetMeter(m Meter) { b.meter = m }

// Meter is how it is set.
func (b *Bench) Meter() Meter { return b.meter }

// Clamp is how the clamp is set.
func (b *Bench) Clamp() Clamp { return b.clamp }

// SetClamp sets the clamp's range [A].
func (b *Bench) SetClamp(amps float64) { b.clamp.Range = amps }

// Zero zeroes the clamp with empty jaws.
func (b *Bench) Zero() {
	b.clamp.offset, b.clamp.Zeroed, b.clamp.zeroedAt = 0, true, b.now
}

// zeroDrift is how fast a clamp's zero wanders off again [A/h] (common practice:
// it is zeroed before every reading).
const zeroDrift = 0.08

// zero is where the clamp's zero stands now [A].
func (b *Bench) zero() float64 {
	if !b.clamp.Zeroed {
		return b.clamp.offset
	}
	side := 1 - 2*float64(b.random("drift", 0).IntN(2))
	return side * zeroDrift * min(b.now.Sub(b.clamp.zeroedAt).Hours(), 4)
}

// strayZero is a clamp's zero after lying about [A]: remanence of its core, of
// tenths of an ampere (common practice).
func (b *Bench) strayZero() float64 {
	r := b.random("zero", 0)
	x := 0.15 + 0.6*r.Float64()
	if r.IntN(2) == 0 {
		return -x
	}
	return x
}

// meterRange is the range an experienced person sets first at this site.
func (b *Bench) meterRange() float64 {
	i := slices.IndexFunc(Ranges, func(r float64) bool { return r > 1.3*b.setup.Site.NominalV })
	return Ranges[i]
}

// errors of an instrument, the same all day: gain and offset within the limits
// of error, seven tenths of them at most, so that noise has room within.
func (b *Bench) errors(m reading.Meter) (gain, offset float64) {
	in, r := b.setup.Instruments[m], b.random("errors "+string(m), 0)
	side := func() float64 { return 0.7 * (2*r.Float64() - 1) }
	return in.Percent / 100 * side(), (in.PlusMinus + in.Digits*in.Resolution) * side()
}

// noiseShare of the limit is the standard deviation of the noise from one taking
// to the next (judgement: the last digits move).
const noiseShare = 0.075

// measured is what instrument m shows of x in steps of last: its errors, noise,
// its last place, and all of it within the limits of error.
func (b *Bench) measured(m reading.Meter, k reading.Key, x, last float64) float64 {
	in := b.setup.Instruments[m]
	in.Resolution = max(in.Resolution, last)
	gain, offset := b.errors(m)
	turn := b.takes[k]
	r := b.random(string(m)+string(k), turn)
	limit := in.Limit(x)
	shown := x*(1+gain) + offset + noiseShare*limit*r.NormFloat64()
	shown = min(max(shown, x-limit), x+limit)
	if last > 0 {
		shown = math.Round(shown/last) * last
	}
	return shown + 0
}

// misled is x as a quirk of the reading shows it.
func (b *Bench) misled(k reading.Key, x float64) float64 {
	for _, q := range b.setup.Quirks {
		if q.Reading != k || q.Times > 0 && b.takes[k] >= q.Times {
			continue
		}
		if q.Factor != 0 {
			x *= q.Factor
		}
		x += q.Add
	}
	return x
}

// volts shows x on the multimeter's range.
func (b *Bench) volts(k reading.Key, x float64) Display {
	last := b.meter.Range / counts
	if b.meter.Range >= 600 {
		last = 1
	}
	v := b.measured(reading.Voltmeter, k, b.misled(k, x), last)
	d := Display{Reading: k, Coarse: last}
	if math.Abs(v) >= b.meter.Range {
		d.Text, d.Reading = "OL", ""
		return d
	}
	b.takes[k]++
	d.Value, d.Reads, d.Shown = v, v, true
	d.Text = fmt.Sprintf("%.*f V", places(last), v)
	return d
}

// places are the decimals that steps of last need.
func places(last float64) int {
	return max(0, int(math.Ceil(-math.Log10(last)-1e-9)))
}

// amps shows x on the clamp.
func (b *Bench) amps(k reading.Key, x float64) Display {
	last := b.clamp.Range / counts
	v := b.measured(reading.Clamp, k, b.misled(k, x), last) + b.zero()
	v = math.Round(v/last)*last + 0
	d := Display{Reading: k, Coarse: last}
	if math.Abs(v) >= b.clamp.Range {
		d.Text, d.Reading = "OL", ""
		return d
	}
	b.takes[k]++
	d.Value, d.Reads, d.Shown = v, v, true
	d.Text = fmt.Sprintf("%.*f A", places(last), v)
	return d
}

// A Spot is where a thermometer is held.
type Spot string

// The spots.
const (
	Air     Spot = "air"
	Module  Spot = "module"
	Battery Spot = "battery"
)

// Spots are all spots.
var Spots = []Spot{Air, Module, Battery}

// Temperature shows the thermometer [°C].
func (b *Bench) Temperature(at Spot) Display {
	s := b.solve()
	k, x := reading.AirC, s.u.AirC
	switch at {
	case Module:
		k, x = reading.ModuleC, s.u.CellC
		if b.isolated() {
			k = reading.ModuleC2
		}
	case Battery:
		k, x = reading.BatteryC, s.u.BatteryC
	}
	v := b.measured(reading.Thermometer, k, b.misled(k, x), 1)
	b.takes[k]++
	b.pass(oneReading)
	return Display{Text: fmt.Sprintf("%.0f °C", v), Value: v, Reads: v, Shown: true, Reading: k, Coarse: 1}
}

// Light shows the light meter held beside the array [W/m2].
func (b *Bench) Light() Display {
	k := reading.Irradiance
	if b.isolated() {
		k = reading.Irradiance2
	}
	v := max(0, b.measured(reading.Light, k, b.misled(k, b.solve().u.Irradiance), 1))
	b.takes[k]++
	b.pass(oneReading)
	return Display{Text: fmt.Sprintf("%.0f W/m2", v), Value: v, Reads: v, Shown: true, Reading: k, Coarse: 1}
}

// Gravity shows the hydrometer in each cell in turn.
func (b *Bench) Gravity() Display {
	if b.setup.Site.Battery.Chemistry != "flooded" {
		return Display{Text: texts().Problem.NoAcid}
	}
	b.touch(AtBattery)
	if !b.worn {
		b.commit("acid")
	}
	k := reading.Gravity
	if !b.restedEnough() {
		k = ""
	}
	d := Display{Reading: k, Shown: true, Coarse: 0.005}
	in := b.setup.Instruments[reading.Hydrometer]
	_, offset := b.errors(reading.Hydrometer)
	for _, g := range b.cells() {
		v := min(max(b.misled(reading.Gravity, g)+offset, g-in.PlusMinus), g+in.PlusMinus)
		d.List = append(d.List, math.Round(v*1000)/1000)
	}
	b.takes[reading.Gravity]++
	b.pass(8 * oneReading)
	d.Text = listText(d.List, quantity.Number)
	return d
}

func listText(list []float64, unit string) string {
	var parts []string
	for _, x := range list {
		parts = append(parts, quantity.Format(x, unit))
	}
	return strings.Join(parts, "  ")
}

// isolated reports whether the array is off the controller.
func (b *Bench) isolated() bool { return b.open.Array || b.open.ArrayFuse }

// minRest is what a battery rests at least for its readings to be those of a
// rested battery [min] (a choice of this project; half an hour is better).
const minRest = 20

func (b *Bench) restedEnough() bool {
	return b.rest != nil && b.rest.step.IsZero() && b.quiet() && b.now.Sub(b.rest.since).Minutes() >= minRest
}

// RestMinutes is how long the battery has rested [min], 0 if it does not.
func (b *Bench) RestMinutes() float64 {
	switch {
	case b.rest == nil:
		return 0
	case !b.rest.step.IsZero():
		return b.rest.ready
	}
	return b.now.Sub(b.rest.since).Minutes()
}

// asFound reports whether nothing is switched or destroyed, so that readings are
// as found.
func (b *Bench) asFound() bool {
	o := b.open
	return !(o.Array || o.ArrayFuse || o.BatteryFuse || o.LoadFuse || o.Shorted || o.controller || o.ByHand > 0)
}

// floating is what a meter shows of terminals that nothing holds: mostly some
// hundredths of a volt, at times volts that stray currents make (judgement, as
// in the diagnosis).
func (b *Bench) floating(where string) float64 {
	r := b.random("float "+where, 0)
	if r.Float64() < 0.6 {
		return 0.03 * r.NormFloat64()
	}
	return 0.1 * b.setup.Site.NominalV * math.Abs(r.NormFloat64()) * 0.5
}

// value is the reading i of the plant now, floating terminals included.
func (b *Bench) value(o *plant.Out, i plant.Index) (x float64, floats bool) {
	if o.Floats[i] {
		return b.floating(fmt.Sprint(i)), true
	}
	return o.Value[i], false
}
