package belief

import (
	"math"
	"slices"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// An observation is one number read, with what may be wrong about it.
type observation struct {
	key        reading.Key
	index      plant.Index
	meter      reading.Meter
	y          float64
	instrument quantity.Instrument
	gain       int     // coordinate of the instrument's gain error, −1 if none
	offset     int     // and of its offset
	zero       bool    // suffers from a clamp that was not zeroed
	rounding   float64 // standard deviation of rounding and repeating
	span       float64 // width of the range a wrong reading may fall in
	flips      bool    // a clamp may be turned round
	slip       float64 // chance that it is simply wrong
	chances    [ways]float64
	wrong      float64 // density of a wrong reading, times √2π
	floatHigh  float64 // spread where nothing holds the terminals, see floatOften
	floatAny   float64 // share of anything up to floatTop there
	floatTop   float64
}

// Chances of a wrong reading (judgement).
const (
	slipChance  = 0.005
	turnChance  = 0.005
	doubtChance = 0.5 // of a value that was questioned and kept
)

// How far a reading comes back the same, minutes apart, in a plant whose light
// and loads never stand quite still, and what the plant model leaves out
// (judgement).
const (
	voltRepeat  = 0.015 // at 12 V [V]
	ampRepeat   = 0.012 // [A]
	lightRepeat = 0.015 // of a current that the light makes, under a clear sky
	cloudRepeat = 0.06  // and under clouds: light moves so much within a minute, and a meter
	// and a module do not see the same of a grey sky

	// What a misfit of the model is counted in, for voltages at the battery and, by their
	// size, the array's, and for currents (judgement: twice the above).
	misfitV     = 0.03 // at 12 V [V]
	misfitArray = 0.006
	misfitAmp   = 0.02
	misfitA     = 0.02 // [A]

	rippleRepeat = 0.03 // of a current that follows the mains' or an inverter's frequency
	pulseRepeat  = 0.04 // of a current that a controller lets through in part
	// Where it holds back by slow turns a meter shows the mean or one of them: what is
	// between them at the battery at 12 V [V], and at the array by its voltage.
	swingV     = 0.05
	swingArray = 0.03
)

// meters is the coordinates of each instrument's errors.
var meters = map[reading.Meter]struct{ gain, offset int }{
	reading.Voltmeter:   {dVoltGain, dVoltOffset},
	reading.Clamp:       {dClampGain, dClampOffset},
	reading.Light:       {dLightGain, dLightOffset},
	reading.Thermometer: {-1, dThermometer},
	reading.Hydrometer:  {-1, dHydrometer},
}

// settleChances works out the chances of the reading's ways.
func (o *observation) settleChances() {
	o.chances = [ways]float64{right: 1 - o.slip, wrong: o.slip}
	if o.flips {
		o.chances[turned] = o.chances[right] * turnChance
		o.chances[right] *= 1 - turnChance
	}
	o.wrong = rootTwoPi * o.slip / o.span
}

// gainError and offsetError are the instrument's standard uncertainties: errors
// rectangular within its limits, taken as normal of the same deviation.
func (o *observation) gainError() float64 {
	if o.gain < 0 {
		return 0
	}
	return o.instrument.Percent / 100 / math.Sqrt(3)
}

func (o *observation) offsetError() float64 {
	if o.offset < 0 {
		return 0
	}
	return o.instrument.StandardUncertainty(0)
}

// observe makes the observations of a set.
func (m *model) observe() {
	add := func(k reading.Key, i plant.Index, y, rounding float64) {
		spec, _ := reading.SpecOf(k)
		m.obs = append(m.obs, m.observation(spec, i, y, rounding))
	}
	for _, spec := range reading.Specs {
		switch spec.Form {
		case reading.Number:
			i, ok := plant.IndexOf(spec.Key)
			y, has := m.set.Numbers[spec.Key]
			if ok && has {
				add(spec.Key, i, y, 0)
			}
		case reading.List:
			ys := m.set.Lists[spec.Key]
			if len(ys) == 0 {
				continue
			}
			low, rest := plant.ListOf(spec.Key)
			scatter := m.scatter(spec.Key, ys)
			lowest := slices.Min(ys)
			if len(ys) == 1 {
				add(spec.Key, low, lowest, scatter)
				continue
			}
			sum := -lowest
			for _, y := range ys {
				sum += y
			}
			n := float64(len(ys) - 1)
			// The lowest of many stands below their mean by about 1.5 deviations.
			add(spec.Key, low, lowest, 2*scatter)
			add(spec.Key, rest, sum/n, scatter/math.Sqrt(n)+scatter/3)
		}
	}
	m.observeWords()
}

// cellScatter is how far sound cells of one battery differ in specific gravity
// (judgement; a difference above 0.025 is a bad cell by an army manual, read).
const cellScatter = 0.004

// stringScatter is how far the currents of like strings differ, of their mean: by age and
// by joints of some milliohms (judgement); stringRest is what flows between them [A].
const stringScatter, stringRest = 0.12, 0.1

// scatter is how far healthy blocks, cells or strings of one battery differ, one standard
// deviation; 0 for readings that are no lists. The readings are ys, nil where there are none yet.
func (m *model) scatter(k reading.Key, ys []float64) float64 {
	switch k {
	case reading.BlockV:
		return 0.01 * float64(m.site.Battery.CellsPerBlock) / 6
	case reading.StepBlockV:
		return 0.025 * float64(m.site.Battery.CellsPerBlock) / 6
	case reading.StringA:
		var sum float64
		for _, y := range ys {
			sum += y
		}
		return stringRest + stringScatter*math.Abs(sum)/float64(max(1, len(ys)))
	case reading.Gravity:
		return cellScatter
	}
	return 0
}

// observation makes one number ready to be weighed.
func (m *model) observation(spec reading.Spec, i plant.Index, y, rounding float64) observation {
	in := m.set.Instruments[spec.Meter]
	at, ok := meters[spec.Meter]
	if !ok {
		at.gain, at.offset = -1, -1
	}
	o := observation{
		key: spec.Key, index: i, meter: spec.Meter, y: y, instrument: in, gain: at.gain, offset: at.offset,
		rounding: math.Hypot(in.Resolution/math.Sqrt(12), rounding),
		slip:     slipChance, floatHigh: floatHigh * m.site.NominalV, floatTop: floatTop * m.site.NominalV,
	}
	switch i {
	case plant.PostV, plant.RestV, plant.BlockLow, plant.BlockRest, plant.StepPostV, plant.StepBlockLow, plant.StepBlockRest:
		o.floatAny = packLeaks
	case plant.PlusEarthV, plant.MinusEarthV:
		o.floatHigh *= earthFloats
	case plant.PackPercent:
		o.slip, o.rounding = packSlip, packPercent
	case plant.USBLow, plant.USBRest:
		o.rounding = usbSpread
	case plant.RunH:
		o.slip = runSlip
	}
	s := m.site
	switch spec.Meter {
	case reading.Voltmeter:
		o.span = 1.2*max(s.Array.OpenCircuitV(0), 1.5*s.NominalV) + 2
		o.rounding = math.Hypot(o.rounding, voltRepeat*m.scale12)
	case reading.Clamp:
		o.span = 2 * max(1.5*s.Array.ShortCircuitA(), s.Controller.RatedA, 5)
		o.rounding = math.Hypot(o.rounding, ampRepeat)
		o.zero = spec.Section == "as_found"
		o.flips = spec.Section == "as_found" && spec.Form == reading.Number
	case reading.Light:
		o.span = 1500
		o.rounding = math.Hypot(o.rounding, 1)
	case reading.Thermometer:
		o.span = 120
		o.rounding = math.Hypot(o.rounding, 0.7)
	case reading.Hydrometer:
		o.span = 0.4
	default:
		o.span = 100
	}
	if m.set.Doubted[spec.Key] {
		o.slip = doubtChance
	}
	o.settleChances()
	return o
}

// spread is the standard deviation of the reading about its prediction, beyond
// the instrument's own limits: rounding, and what the plant model leaves out.
func (m *model) spread(o *observation, out *plant.Out) float64 {
	return math.Sqrt(m.variance(o, out))
}

// variance is the square of spread.
func (m *model) variance(o *observation, out *plant.Out) float64 {
	x := square(o.rounding)
	v := out.Value[o.index]
	switch o.index {
	case plant.ArrayA, plant.ShortA:
		x += square(m.unsteady(out) * v)
		if out.Regulating && o.index == plant.ArrayA {
			x += square(pulseRepeat * v)
		}
	case plant.BatteryA:
		x += square(m.unsteady(out)*out.Value[plant.ArrayA]) + square(rippleRepeat*out.Value[plant.InverterA]) + square(rippleRepeat*out.Value[plant.ChargerA])
		if out.Regulating {
			x += square(pulseRepeat * v)
		}
	case plant.LoadA, plant.StepA:
		x += square(0.008 * v)
	case plant.InverterA, plant.ChargerA: // both draw and give in pulses of the mains' frequency
		x += square(rippleRepeat * v)
	case plant.StringLow, plant.StringRest:
		x += square(out.StrayA) + square(m.unsteady(out)*out.Value[plant.ArrayA]/float64(m.site.Battery.Parallel()))
	case plant.ArrayV, plant.ModuleV, plant.OpenV:
		x += square(0.003 * v)
		if !out.Charging {
			x += square(darkStray * fastmath.Exp(-out.Value[plant.Irradiance]/3))
		}
		if g := out.Value[plant.Irradiance]; !out.Charging && g < 600 { // in little light stray conductance decides Voc
			x += square((0.25*v + 0.02*g*m.scale12) * fastmath.Exp(-g/12))
		}
	case plant.OutputW:
		x += square(outputSpread*v) + square(outputRest)
	case plant.RunH:
		x += square(runSpread*v) + square(runRest)
	case plant.Irradiance, plant.Irradiance2:
		x += square(0.7 * m.unsteady(out) * v)
	}
	switch o.meter {
	case reading.Voltmeter:
		held := false                       // at the set-point, whose spread is its own: no cell has a part in it
		if out.Regulating && out.Charging { // with nothing to pass on it turns nothing on
			switch o.index {
			case plant.ArrayV, plant.ModuleV:
				x += square(swingArray * v)
			case plant.BatteryV, plant.PostV, plant.LoadV, plant.LoadEndV, plant.InverterV:
				x += square(swingV * m.scale12)
				held = true
			}
		}
		if f := out.Misfit.Volts; f > 0 && !held {
			unit := square(misfitV * m.scale12)
			switch o.index {
			case plant.ArrayV, plant.ModuleV, plant.OpenV:
				unit += square(misfitArray * v)
			}
			x += f * f * unit
		}
	case reading.Clamp:
		if f := out.Misfit.Amps; f > 0 {
			x += f * f * (square(misfitA) + square(misfitAmp*v))
		}
	}
	return x
}

// unsteady is how far light moves from one reading to the next, relative: more where less of
// it comes through than a clear sky lets.
func (m *model) unsteady(out *plant.Out) float64 {
	cloudy := 0.5
	if m.clear >= plant.DaylightFrom {
		cloudy = min(max((clearFrom-out.Value[plant.Irradiance]/m.clear)/(clearFrom-cloudyTo), 0), 1)
	}
	return lightRepeat + cloudy*(cloudRepeat-lightRepeat)
}

// clearFrom and cloudyTo are the parts of the clear sky's light from which a sky is clear,
// and up to which there are clouds (judgement).
const clearFrom, cloudyTo = 0.85, 0.6

// darkStray is what an array shows in the dark: leakage back through the controller, the
// moon, a lamp [V] (judgement: 0.1 to 0.2 V is ordinary).
const darkStray = 0.12

func square(x float64) float64 { return x * x }

// Terminals that nothing holds show about nothing, and sometimes some volts
// that stray conductance and a meter's ten megohms make of whatever is near
// (judgement).
const (
	floatLow   = 0.03 // [V]
	floatHigh  = 0.1  // of the nominal voltage
	floatOften = 0.6  // share of the first

	// The posts of a pack whose protection is open stand anywhere between nothing and the
	// pack, by what its switches leak and what hangs on them (common practice).
	packLeaks = 0.5
	floatTop  = 1.15 // of the nominal voltage: a full lithium pack
)

// What a pole that nothing joins to earth shows against it: up to the battery's own voltage,
// by the wet and the dust on its parts (judgement). What a lithium pack counts of its own
// charge strays by some percent, and after weeks without a full charge by much more.
const (
	earthFloats = 4 // times what other free terminals show
	packPercent = 6 // [%]
	packSlip    = 0.1
)

// What the outputs of a closed kit show, and what people tell of it (judgement): a USB port
// holds 5 V within 5 % under load, a USB meter errs by some percent, and hours are told to
// the next half and from different evenings.
const (
	usbSpread    = 0.15 // [V]
	outputSpread = 0.04
	outputRest   = 0.2 // [W]
	runSpread    = 0.15
	runRest      = 0.3 // [h]
	runSlip      = 0.05
)

// floating is the density of a reading that is y above what the plant has at terminals
// that nothing holds, with a meter's spread of sd.
func (o *observation) floating(y, sd float64) float64 {
	p := floatOften*gauss(y, math.Hypot(sd, floatLow)) + (1-floatOften)*gauss(y, math.Hypot(sd, o.floatHigh))
	if o.floatAny > 0 {
		p *= 1 - o.floatAny
		if y > 0 && y < o.floatTop {
			p += o.floatAny / o.floatTop
		}
	}
	return p
}

// likelihood of a reading at a solution of the plant and given errors of the
// instruments, and the probability that it came about by being right.
func (m *model) likelihood(o *observation, z *[dims]float64, out *plant.Out) (p, rightly float64) {
	mean, sd := m.predict(o, z, out), m.spread(o, out)
	var good float64
	if out.Floats[o.index] {
		good = o.floating(o.y-mean, sd)
	} else {
		good = gauss(o.y-mean, sd)
	}
	good *= o.chances[right]
	p = good + o.chances[wrong]/o.span
	if o.flips && !out.Floats[o.index] {
		p += o.chances[turned] * gauss(o.y+mean, sd)
	}
	return p, good / p
}

// predict is what the instrument would show.
func (m *model) predict(o *observation, z *[dims]float64, out *plant.Out) float64 {
	v := out.Value[o.index]
	if o.gain >= 0 {
		v *= 1 + o.gainError()*z[o.gain]
	}
	if o.offset >= 0 {
		v += o.offsetError() * z[o.offset]
	}
	if o.zero && unzeroed(z) {
		v += unzeroedA * z[dClampZero]
	}
	return v
}

func unzeroed(z *[dims]float64) bool { return z[dUnzeroed] > 1-unzeroedShare }

const rootTwoPi = 2.5066282746310002

func gauss(d, sd float64) float64 {
	d /= sd
	return fastmath.Exp(-0.5*d*d) / (sd * rootTwoPi)
}
