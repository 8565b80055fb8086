package belief

import (
	"math"
	"slices"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
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

	pulseRepeat = 0.04 // of a current that a controller lets through in part
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
			low, rest := plant.BlockLow, plant.BlockRest
			if spec.Key == reading.Gravity {
				low, rest = plant.GravityLow, plant.GravityRest
			}
			scatter := m.scatter(spec.Key)
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
	for _, k := range []reading.Key{reading.Sky, reading.Shade, reading.Glass} {
		if w, ok := m.set.Words[k]; ok {
			spec, _ := reading.SpecOf(k)
			m.words = append(m.words, word{key: k, choice: slices.Index(spec.Choices, w)})
		}
	}
	for i := range m.site.Controller.Lamps {
		l := &m.site.Controller.Lamps[i]
		k := reading.Lamp(l.Label)
		if w, ok := m.set.Words[k]; ok {
			choice := slices.IndexFunc(l.Looks, func(x site.Look) bool { return x.Look == w })
			m.words = append(m.words, word{key: k, lamp: l, choice: choice})
		}
	}
}

// cellScatter is how far sound cells of one battery differ in specific gravity
// (judgement; a difference above 0.025 is a bad cell by an army manual, read).
const cellScatter = 0.004

// scatter is how far sound blocks or cells of one battery differ, one standard
// deviation; 0 for readings that are no lists.
func (m *model) scatter(k reading.Key) float64 {
	switch k {
	case reading.BlockV:
		return 0.01 * float64(m.site.Battery.CellsPerBlock) / 6
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
	case plant.PostV, plant.RestV, plant.BlockLow, plant.BlockRest, plant.StepPostV:
		o.floatAny = packLeaks
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
		o.flips = spec.Section == "as_found"
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
		x += square(m.unsteady(out) * out.Value[plant.ArrayA])
		if out.Regulating {
			x += square(pulseRepeat * v)
		}
	case plant.LoadA, plant.StepA:
		x += square(0.008 * v)
	case plant.ArrayV, plant.ModuleV, plant.OpenV:
		x += square(0.003 * v)
		if !out.Charging {
			x += square(darkStray * fastmath.Exp(-out.Value[plant.Irradiance]/3))
		}
		if g := out.Value[plant.Irradiance]; !out.Charging && g < 600 { // in little light stray conductance decides Voc
			x += square((0.25*v + 0.02*g*m.scale12) * fastmath.Exp(-g/12))
		}
	case plant.Irradiance, plant.Irradiance2:
		x += square(0.7 * m.unsteady(out) * v)
	}
	switch o.meter {
	case reading.Voltmeter:
		if out.Regulating && out.Charging { // with nothing to pass on it turns nothing on
			switch o.index {
			case plant.ArrayV, plant.ModuleV:
				x += square(swingArray * v)
			case plant.BatteryV, plant.PostV, plant.LoadV, plant.LoadEndV:
				x += square(swingV * m.scale12)
			}
		}
		if f := out.Misfit.Volts; f > 0 {
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
	floatTop  = 1.05 // of the nominal voltage
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

// A word is one reading in words: sky, shade, glass, or how a lamp looks.
type word struct {
	key    reading.Key
	lamp   *site.Lamp
	choice int // index of what was seen
}

// Words against the truth (judgement): eyes on the sky misjudge by a step, a
// shadow is sometimes overlooked, dust on the glass is common.
var (
	shadeSeen   = [2][]float64{{0.88, 0.08, 0.04}, {0.12, 0.58, 0.30}} // not shaded, shaded
	shadeInDark = []float64{0.5, 0.1, 0.4}
	glassSeen   = [2][]float64{{0.74, 0.22, 0.04}, {0.15, 0.45, 0.40}} // clean, soiled
)

// chances of each choice of the word, given the plant.
func (m *model) chances(w *word, h *hypothesis, out *plant.Out, p []float64) []float64 {
	p = p[:0]
	g := out.Value[plant.Irradiance]
	switch w.key {
	case reading.Shade:
		if g < 20 {
			return append(p, shadeInDark...)
		}
		k := 0
		if h.has(condition.ArrayShaded) {
			k = 1
		}
		return append(p, shadeSeen[k]...)
	case reading.Glass:
		k := 0
		if h.has(condition.ArraySoiled) {
			k = 1
		}
		return append(p, glassSeen[k]...)
	case reading.Sky:
		return m.skyChances(g, p)
	}
	return lampChances(w.lamp, m.scale12, h, out, p)
}

// skyChances of dark, overcast, hazy, clear under light g.
func (m *model) skyChances(g float64, p []float64) []float64 {
	clear := m.clear
	if math.IsNaN(clear) || clear < 30 {
		clear = max(g, 300) // the clock does not help
	}
	k := g / clear
	bell := func(mid, width float64) float64 { d := (k - mid) / width; return fastmath.Exp(-0.5 * d * d) }
	dark := 1 / (1 + fastmath.Exp((g-9)/3))
	p = append(p, dark, (1-dark)*bell(0.2, 0.25), (1-dark)*bell(0.6, 0.25), (1-dark)*bell(0.95, 0.25))
	if k > 0.95 {
		p[3] = (1 - dark)
	}
	var sum float64
	for _, x := range p {
		sum += x
	}
	// Among the words of the day eyes differ; that it is dark they see.
	const misjudged, mistaken = 0.15, 0.01
	for i := range p {
		p[i] /= sum
	}
	day := 1 - p[0]
	for i := range p[1:] {
		p[1+i] = (1-misjudged)*p[1+i] + misjudged*day/3 + mistaken/4
	}
	p[0] += mistaken / 4
	for i := range p {
		p[i] /= 1 + mistaken
	}
	return p
}

// lampWrong is the chance that a lamp was noted wrong or shows something else
// (judgement).
const lampWrong = 0.03

// lampChances of each look of a lamp.
func lampChances(l *site.Lamp, scale12 float64, h *hypothesis, out *plant.Out, p []float64) []float64 {
	var sum float64
	for i := range l.Looks {
		x := 1.0
		for _, means := range l.Looks[i].Means {
			x *= meaning(means, &l.Looks[i], scale12, h, out)
		}
		p = append(p, x)
		sum += x
	}
	n := float64(len(p))
	for i := range p {
		x := 1 / n
		if sum > 1e-9 {
			x = p[i] / sum
		}
		p[i] = (1-lampWrong)*x + lampWrong/n
	}
	return p
}

// meaning is the chance that a controller in this state shows it.
func meaning(w site.Meaning, l *site.Look, scale12 float64, h *hypothesis, out *plant.Out) float64 {
	if w == site.Unpowered {
		return truth(!out.Powered)
	}
	if !out.Powered {
		return 0
	}
	above := func(volts float64) float64 { return phi((out.BusV - volts) / (0.06 * scale12)) }
	charging := truth(out.Charging)
	if h.has(condition.ChargePathOpen) && out.ArrayLive {
		charging = 0.3 // some show what they command, not what flows
	}
	loadsLive := truth(out.LoadsLive)
	if h.has(condition.LoadOutputOpen) {
		loadsLive = 0.6
	}
	switch w {
	case site.ArrayLive:
		return truth(out.ArrayLive)
	case site.ArrayDead:
		return 1 - truth(out.ArrayLive)
	case site.Charging:
		return charging
	case site.NotCharging:
		return 1 - charging
	case site.Regulating:
		return truth(out.Regulating)
	case site.NotRegulating:
		return 1 - truth(out.Regulating)
	case site.BatteryAbove:
		return above(l.Volts)
	case site.BatteryBelow:
		return 1 - above(l.Volts)
	case site.BatteryBetween:
		return above(l.Volts) * (1 - above(l.VoltsTo))
	case site.LoadsLive:
		return loadsLive
	case site.LoadsCut:
		return 1 - loadsLive
	case site.Fault:
		if len(h.ids) == 0 {
			return 0.01
		}
		return 0.2
	case site.Powered:
		return 1
	}
	return 0.5
}

// truth leaves a little room for thresholds that a controller sets elsewhere.
func truth(b bool) float64 {
	if b {
		return 0.99
	}
	return 0.01
}
