package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
)

// bypassDrop is the forward drop of a conducting bypass diode (Schottky) [V]
// (common practice).
const bypassDrop = 0.45

// bypassOhm is its slope [ohm] (judgement).
const bypassOhm = 0.01

// A stringClass is a number of like strings in parallel.
type stringClass struct {
	count  float64
	full   float64 // groups of cells in full light
	shaded float64 // groups in the shadow
}

// array is the module side of the plug: up to two classes of strings of
// bypass groups, and a leak across them, with the line to the controller.
//
// All of it is solved along one variable x of its first class: the diode
// voltage of its lit groups, or of its shaded groups where it has any, and past
// the point where their bypass diodes take over that of the lit ones again.
// Voltage rises and current falls with x, so every question is one monotone
// scalar equation.
type array struct {
	lit     Diode // one group in full light
	dim     Diode // one group in the shadow
	classes [2]stringClass
	n       int     // classes in use
	leak    float64 // conductance across the array [S]
	before  float64 // resistance between the modules and the plug [ohm]
	after   float64 // between the plug and the controller [ohm]

	// Where the first class's bypass diodes take over, if it is shaded in part.
	xBypass float64 // x there
	litThen float64 // diode voltage of the lit groups
	iThen   float64 // the string's current
	vThen   float64 // its voltage

	xOpen float64 // at open circuit, NaN until asked for
	vOpen float64 // and the voltage there
	xPeak float64 // at the maximum power point
	// The last inner solutions, to start the next ones from.
	last  struct{ x, lit, slope, bend float64 } // diode voltage of lit groups beside shaded ones
	other place                                 // of the second class
}

func (a *array) add(c stringClass) {
	a.classes[a.n] = c
	a.n++
}

// ready finds the point where bypass diodes take over.
func (a *array) ready() {
	a.xOpen = math.NaN()
	if c := &a.classes[0]; c.shaded > 0 && c.full > 0 {
		a.iThen, _, _, a.xBypass = a.dim.atVoltage(-bypassDrop, new(place))
		a.litThen = a.lit.atCurrent(a.iThen, 0)
		a.last.x, a.last.lit = a.xBypass, a.litThen
		a.vThen = c.full*(a.litThen-a.lit.Rs*a.iThen) - c.shaded*bypassDrop
	}
}

// A spot is the array's curve at one x: voltage and current at its terminals
// with their first and second slopes against x.
type spot struct{ v, dv, ddv, i, di, ddi float64 }

// drive is the spot at x, line being the resistance between the modules and the
// terminals.
func (a *array) drive(x, line float64) spot {
	c, d := &a.classes[0], &a.lit
	var i, di, ddi float64
	n, vd := c.full, x              // the groups that x is of
	var more, dmore, ddmore float64 // the others' voltage
	switch {
	case c.shaded == 0:
		i, di = d.current(x)
		ddi = d.bend(di)
	case c.full == 0 || x >= a.xBypass:
		i, di = a.dim.current(x)
		ddi = a.dim.bend(di)
		n = c.shaded
		if c.full > 0 {
			vl, dvl, ddvl := a.besideShade(x, i, di, ddi)
			more, dmore, ddmore = c.full*(vl-d.Rs*i), c.full*(dvl-d.Rs*di), c.full*(ddvl-d.Rs*ddi)
		}
	default:
		vd = a.litThen + x - a.xBypass
		i, di = d.current(vd)
		ddi = d.bend(di)
		more = -c.shaded * (bypassDrop + bypassOhm*(i-a.iThen))
		dmore, ddmore = -c.shaded*bypassOhm*di, -c.shaded*bypassOhm*ddi
	}
	v := n*(vd-d.Rs*i) + more
	dv := n*(1-d.Rs*di) + dmore
	ddv := ddmore - n*d.Rs*ddi
	i, di, ddi = c.count*i, c.count*di, c.count*ddi
	if a.n > 1 {
		o := &a.classes[1]
		io, slope, bend, _ := d.atVoltage(v/o.full, &a.other)
		slope, bend = slope/o.full, bend/(o.full*o.full)
		i += o.count * io
		di += o.count * slope * dv
		ddi += o.count * (bend*dv*dv + slope*ddv)
	}
	i, di, ddi = i-a.leak*v, di-a.leak*dv, ddi-a.leak*ddv
	return spot{v - line*i, dv - line*di, ddv - line*ddi, i, di, ddi}
}

// besideShade is the diode voltage, with its slopes, of lit groups in series with
// shaded ones, which carry i at x.
func (a *array) besideShade(x, i, di, ddi float64) (vl, slope, bend float64) {
	last, d := &a.last, &a.lit
	step := x - last.x
	vl = d.atCurrent(i, last.lit+step*(last.slope+step/2*last.bend))
	g := d.slopeAt(vl, i)
	slope = di / g
	bend = (ddi - d.bend(g)*slope*slope) / g
	last.x, last.lit, last.slope, last.bend = x, vl, slope, bend
	return vl, slope, bend
}

// ahead is the spot a small step of x farther.
func (s spot) ahead(step float64) spot {
	s.v += step * (s.dv + step/2*s.ddv)
	s.i += step * (s.di + step/2*s.ddi)
	return s
}

func (s *spot) power() float64 { return s.v * s.i }

// near is an x close to, and mostly right of, the modules' voltage v; to the
// right Newton's steps do not overshoot.
func (a *array) near(v float64) float64 {
	c, d := &a.classes[0], &a.lit
	switch {
	case c.shaded == 0:
		return d.near(v/c.full, d.IL)
	case c.full == 0:
		return a.dim.near(v/c.shaded, a.dim.IL)
	case v < a.vThen:
		return a.xBypass + min(d.near((v+c.shaded*bypassDrop)/c.full, d.IL)-a.litThen, 0)
	default:
		// The lit groups stand about where they do at the bypass, and above
		// the shaded ones.
		i := a.dim.IL
		each := min((v-c.full*(a.litThen-d.Rs*i))/c.shaded, v/(c.full+c.shaded))
		return max(a.dim.near(each, i), a.xBypass)
	}
}

// seek finds where f, rising with x, is zero between lo and hi, by Halley's
// steps, of third order; the zero lies a small step beyond the last x that f was
// asked for. Once it is between two points, a step that leaves them or does not
// shrink (to and fro over the kink where bypass diodes take over) gives way to
// halving.
func (a *array) seek(x, lo, hi float64, f func(x float64) (y, slope, bend float64)) (step float64) {
	last := math.Inf(1)
	unit := a.lit.A // over which an exponential bends
	for range 200 {
		y, slope, bend := f(x)
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		step = -y / slope
		curved := math.Abs(step * bend / slope)
		if curved < 1 {
			step /= 1 + step*bend/slope/2
		}
		size := math.Abs(step)
		switch {
		case !(x+step >= lo && x+step <= hi) || size > last/2 && !math.IsInf(hi-lo, 1):
			if step = (lo+hi)/2 - x; math.IsInf(step, 0) { // no slope to go by, and no bracket
				step = math.Copysign(unit, -y)
			}
			size = math.Abs(step)
			fallthrough
		case (x < a.xBypass) != (x+step < a.xBypass):
			if size < 1e-14*(1+math.Abs(x)) {
				return step
			}
		case size < unit/100 && size*curved*(curved+size/unit) < 1e-10*unit: // what is left, of third order
			return step
		}
		last = size
		x += step
	}
	return step
}

// open finds the open-circuit point.
func (a *array) open() {
	if !math.IsNaN(a.xOpen) {
		return
	}
	c, d := &a.classes[0], &a.lit
	a.xOpen = a.nearOpen()
	if a.n == 1 && a.leak == 0 {
		if a.vOpen = c.full * a.xOpen; c.shaded > 0 {
			a.vOpen = c.shaded*a.xOpen + c.full*d.atCurrent(0, 0)
		}
		return
	}
	var s spot
	step := a.seek(a.xOpen, math.Inf(-1), math.Inf(1), func(x float64) (float64, float64, float64) {
		s = a.drive(x, 0)
		a.xOpen = x
		return -s.i, -s.di, -s.ddi
	})
	a.xOpen += step
	a.vOpen = s.ahead(step).v
}

// nearOpen is the open-circuit point but for a leak and for what strings that
// differ do to each other's resistances.
func (a *array) nearOpen() float64 {
	switch {
	case a.n > 1:
		return a.fed()
	case a.classes[0].shaded > 0:
		return a.dim.atCurrent(0, 0)
	}
	return a.lit.atCurrent(0, 0)
}

// fed is about the open-circuit point of an odd string that others feed.
//
// Without resistances and shunts, and with e the current through the diodes of
// the others, the odd string's diodes carry IL + n·(IL − e) each, IL being its own
// light current; voltages in parallel make means of logarithms of them. Means of
// the currents themselves are near enough.
func (a *array) fed() float64 {
	c, o := &a.classes[0], &a.classes[1]
	d := &a.lit
	if c.shaded > 0 {
		d = &a.dim
	}
	back := o.count * a.lit.IL / c.count // with a part of the string shorted, nearly all of it
	if all := c.full + c.shaded; all == o.full {
		e := (c.full*a.lit.IL + c.shaded*a.dim.IL + all*back) / (all * (1 + o.count/c.count))
		back = max(0, back-o.count/c.count*e)
	}
	return d.A * fastmath.Log((d.IL+back)/d.I0+1)
}

// openVoltage is the voltage at which no current leaves the modules.
func (a *array) openVoltage() float64 {
	if a.n == 0 {
		return 0
	}
	a.open()
	return a.vOpen
}

// current is the current at voltage v across terminals reached over extra
// [ohm] beyond the cable; it may be negative.
func (a *array) current(v, extra float64) float64 {
	i, _ := a.atVoltage(v, extra)
	return i
}

// atVoltage is the current with its slope against the voltage.
func (a *array) atVoltage(v, extra float64) (i, didv float64) {
	line := a.before + a.after + extra
	if a.n == 0 {
		g := a.leak / (1 + a.leak*line)
		return -g * v, -g
	}
	var s spot
	step := a.seek(a.near(v+line*a.shortCurrent(v)), math.Inf(-1), math.Inf(1), func(x float64) (float64, float64, float64) {
		s = a.drive(x, line)
		return s.v - v, s.dv, s.ddv
	})
	return s.ahead(step).i, s.di / s.dv
}

// shortCurrent is roughly the current that the light drives at the modules'
// voltage v.
func (a *array) shortCurrent(v float64) float64 {
	c := &a.classes[0]
	i := c.count * a.lit.IL
	if c.shaded > 0 && (c.full == 0 || v >= a.vThen) {
		i = c.count * a.dim.IL
	}
	if a.n > 1 {
		i += a.classes[1].count * a.lit.IL
	}
	return i
}

// maxPower is the voltage and current at the controller's terminals that give
// the most power; of several peaks the highest.
func (a *array) maxPower() (v, i float64) {
	if a.n == 0 {
		return 0, 0
	}
	line := a.before + a.after
	c, d := &a.classes[0], &a.lit
	if c.full == 0 {
		d = &a.dim
	}
	var s spot
	if c.shaded > 0 && c.full > 0 {
		a.xPeak, s = a.higherPeak(line)
	} else {
		a.xPeak, s = a.peak(d.knee(1), math.Inf(-1), a.top(), line, 0)
	}
	return s.v, s.i
}

// higherPeak finds the higher of two peaks: one with the shadow's groups at
// work, one with them bypassed. What each can give at most is plain, so mostly
// one look is enough.
func (a *array) higherPeak(line float64) (at float64, s spot) {
	c := &a.classes[0]
	kink := a.drive(a.xBypass, line)
	maxWorking := kink.i * (c.full + c.shaded) * a.lit.aboveOpen()
	maxBypassed := a.vThen * a.shortCurrent(0)
	at = a.xBypass
	working := func() {
		if x, w := a.peak(a.dim.knee((c.full+c.shaded)/c.shaded), a.xBypass, a.top(), line, s.power()); w.power() > s.power() {
			at, s = x, w
		}
	}
	bypassed := func() {
		below := math.Nextafter(a.xBypass, math.Inf(-1))
		if x, w := a.peak(a.xBypass+a.lit.knee(1)-a.litThen, math.Inf(-1), below, line, s.power()); w.power() > s.power() {
			at, s = x, w
		}
	}
	if maxWorking > maxBypassed {
		if working(); maxBypassed > s.power() {
			bypassed()
		}
	} else if bypassed(); maxWorking > s.power() {
		working()
	}
	return at, s
}

// top is an x beyond open circuit: where all others feed the odd string.
func (a *array) top() float64 {
	d, light := &a.lit, a.lit.IL
	if a.n > 1 {
		light += a.classes[1].count / a.classes[0].count * d.IL
	}
	return d.A * fastmath.Log(light/d.I0+1)
}

// peak is the largest power from floor to top, x being a point near it, or any
// spot where that is not above least [W]. There is but one: on either side of the
// kink each string's current is concave in the voltage, and so is their sum.
//
// There −di/i = dv/v. The log of the two sides' ratio is nearly straight in x,
// since the current falls exponentially: Newton's steps, kept in a bracket.
func (a *array) peak(x, floor, top, line, least float64) (at float64, s spot) {
	if !(x > floor && x < top) {
		x = top
	}
	lo, hi := floor, top
	unit := a.lit.A
	reach := unit
	for range 60 {
		s = a.drive(x, line)
		// A concave current stays below its tangent.
		if g := s.di / s.dv; -g*(s.v-s.i/g)*(s.v-s.i/g) < 4*least {
			return x, s
		}
		// Beyond open or short circuit the side is plain, the slope is not.
		g, slope := math.Copysign(math.Inf(1), s.v), 1.0
		if s.power() > 0 {
			g = fastmath.Log(-s.di * s.v / (s.i * s.dv))
			slope = s.ddi/s.di - s.ddv/s.dv + s.dv/s.v - s.di/s.i
		}
		if g > 0 && x == floor || g < 0 && x == top {
			return x, s
		}
		if g > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - g/slope
		switch {
		case math.IsInf(g, 1) && math.IsInf(lo, -1):
			next = x - reach
			reach *= 2
		case next <= lo && lo == floor && !math.IsInf(g, 0):
			next = floor
		case next >= hi && hi == top && !math.IsInf(g, 0):
			next = top
		case !(next > lo && next < hi):
			next = (lo + hi) / 2
			if hi-lo < 1e-9*unit {
				return x, s
			}
		case math.Abs(g) < 2e-4:
			return next, s.ahead(next - x)
		}
		x = next
	}
	return x, s
}

// besidePeak is the spot at a distance from the best one, in units of a lit group's
// A, or the best itself where there is no power. maxPower must have been called.
func (a *array) besidePeak(distance float64) (v, i float64, ok bool) {
	s := a.drive(a.xPeak+distance*a.lit.A, a.before+a.after)
	return s.v, s.i, s.v > 0 && s.i > 0
}

// beyondPeak is the point above the peak at which the array gives power p [W]
// at the controller's terminals: where an mppt controller walks when it holds
// back. maxPower must have been called.
func (a *array) beyondPeak(p float64) (v, i float64) {
	line := a.before + a.after
	var s spot
	step := a.seek(max(a.nearOpen(), a.xPeak+a.lit.A), a.xPeak, math.Inf(1), func(x float64) (float64, float64, float64) {
		s = a.drive(x, line)
		return p - s.v*s.i, -s.dv*s.i - s.v*s.di, -s.ddv*s.i - 2*s.dv*s.di - s.v*s.ddi
	})
	s = s.ahead(step)
	return s.v, s.i
}
