package plant

import "math"

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
	litLast float64 // diode voltage of lit groups beside shaded ones
	other   place   // of the second class
}

func (a *array) add(c stringClass) {
	a.classes[a.n] = c
	a.n++
}

// ready finds the point where bypass diodes take over.
func (a *array) ready() {
	a.xOpen = math.NaN()
	if c := &a.classes[0]; c.shaded > 0 && c.full > 0 {
		a.iThen, _, a.xBypass = a.dim.atVoltage(-bypassDrop, new(place))
		a.litThen = a.lit.atCurrent(a.iThen, 0)
		a.litLast = a.litThen
		a.vThen = c.full*(a.litThen-a.lit.Rs*a.iThen) - c.shaded*bypassDrop
	}
}

// drive is the terminal voltage and current at x with their slopes, line being
// the resistance between the modules and the terminals.
func (a *array) drive(x, line float64) (v, i, dv, di float64) {
	c := &a.classes[0]
	d := &a.lit
	switch {
	case c.shaded == 0:
		i, di = d.current(x)
		v, dv = c.full*(x-d.Rs*i), c.full*(1-d.Rs*di)
	case c.full == 0 || x >= a.xBypass:
		i, di = a.dim.current(x)
		v, dv = c.shaded*(x-d.Rs*i), c.shaded*(1-d.Rs*di)
		if c.full > 0 {
			vl := d.atCurrent(i, a.litLast)
			a.litLast = vl
			v += c.full * (vl - d.Rs*i)
			dv += c.full * (di/d.slopeAt(vl, i) - d.Rs*di)
		}
	default:
		vl := a.litThen + x - a.xBypass
		i, di = d.current(vl)
		v, dv = c.full*(vl-d.Rs*i), c.full*(1-d.Rs*di)
		v -= c.shaded * (bypassDrop + bypassOhm*(i-a.iThen))
		dv -= c.shaded * bypassOhm * di
	}
	i, di = c.count*i, c.count*di
	if a.n > 1 {
		o := &a.classes[1]
		io, s, _ := d.atVoltage(v/o.full, &a.other)
		i += o.count * io
		di += o.count * s / o.full * dv
	}
	i -= a.leak * v
	di -= a.leak * dv
	return v - line*i, i, dv - line*di, di
}

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

// seek finds where f, rising, is zero, by Newton's steps; the zero lies a small
// step beyond the last x that f was asked for. Once it is between two points, a
// step that leaves them or does not shrink (to and fro over the kink where
// bypass diodes take over) gives way to halving.
func seek(x float64, f func(x float64) (y, slope float64)) (step float64) {
	lo, hi := math.Inf(-1), math.Inf(1)
	last := math.Inf(1)
	for range 200 {
		y, slope := f(x)
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		step = -y / slope
		// What is left after Newton's step is of the order of its square; halving
		// promises no more than its own length.
		enough := 1e-6
		if !(x+step >= lo && x+step <= hi) || math.Abs(step) > last/2 && !math.IsInf(hi-lo, 1) {
			step = (lo+hi)/2 - x
			enough = 1e-14
		}
		if last = math.Abs(step); last < enough*(1+math.Abs(x)) {
			break
		}
		x += step
	}
	return step
}

// open finds the open-circuit point.
func (a *array) open() {
	if !math.IsNaN(a.xOpen) {
		return
	}
	d := &a.lit
	if a.classes[0].shaded > 0 && a.n == 1 { // else the other strings feed it
		d = &a.dim
	}
	a.xOpen = d.atCurrent(0, 0)
	if a.n == 1 && a.leak == 0 {
		a.vOpen, _, _, _ = a.drive(a.xOpen, 0)
		return
	}
	var dv float64
	step := seek(a.xOpen, func(x float64) (float64, float64) {
		var i, di float64
		a.vOpen, i, dv, di = a.drive(x, 0)
		a.xOpen = x
		return -i, -di
	})
	a.xOpen += step
	a.vOpen += step * dv
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
	var dt, di float64
	step := seek(a.near(v+line*a.shortCurrent(v)), func(x float64) (float64, float64) {
		var t float64
		t, i, dt, di = a.drive(x, line)
		return t - v, dt
	})
	return i + step*di, di / dt
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
	if c.shaded > 0 && c.full > 0 {
		a.xPeak = a.higherPeak(line)
	} else {
		a.xPeak, _ = a.lastPeak(d.knee(1), math.Inf(-1), line)
	}
	v, i, _, _ = a.drive(a.xPeak, line)
	return v, i
}

// higherPeak finds the higher of two peaks: one with the shadow's groups at
// work, one with them bypassed. What each can give at most is plain, so mostly
// one look is enough.
func (a *array) higherPeak(line float64) float64 {
	c := &a.classes[0]
	_, i, _, _ := a.drive(a.xBypass, line)
	mostWorking := i * (c.full + c.shaded) * a.lit.aboveOpen()
	mostBypassed := a.vThen * a.shortCurrent(0)
	x, p := a.xBypass, 0.0
	working := func() {
		if at, w := a.lastPeak(a.dim.knee((c.full+c.shaded)/c.shaded), a.xBypass, line); w > p {
			x, p = at, w
		}
	}
	bypassed := func() {
		below := math.Nextafter(a.xBypass, math.Inf(-1))
		if at, w := a.peak(a.xBypass+a.lit.knee(1)-a.litThen, math.Inf(-1), below, line); w > p {
			x, p = at, w
		}
	}
	if mostWorking > mostBypassed {
		if working(); mostBypassed > p {
			bypassed()
		}
	} else if bypassed(); mostWorking > p {
		working()
	}
	return x
}

// lastPeak is the peak above floor, x being near it. Beside an odd string there
// may be a second one, where the others feed it past its open circuit.
func (a *array) lastPeak(x, floor, line float64) (at, p float64) {
	at, p = a.peak(x, floor, a.lit.aboveOpen(), line)
	if a.n > 1 {
		beyond := at + a.lit.A/8
		if x := a.near(a.classes[1].full * a.lit.knee(1)); x > beyond {
			if fed, w := a.peak(x, beyond, math.Inf(1), line); w > p {
				return fed, w
			}
		}
	}
	return at, p
}

// peak is the largest power from floor to top, x being a point near it.
//
// There −di/i = dv/v. The log of the two sides' ratio is nearly straight in x,
// since the current falls exponentially: secant steps, kept in a bracket.
func (a *array) peak(x, floor, top, line float64) (at, p float64) {
	if !(x > floor && x < top) {
		x = top
	}
	lo, hi := floor, top
	reach := a.lit.A
	last, gLast := math.NaN(), 0.0
	for range 60 {
		v, i, dv, di := a.drive(x, line)
		p = v * i
		// Beyond open or short circuit the side is plain, the slope is not.
		g := math.Copysign(math.Inf(1), v)
		if p > 0 {
			g = math.Log(-di * v / (i * dv))
		}
		if g > 0 && x == floor || g < 0 && x == top {
			return x, p
		}
		if g > 0 {
			hi = x
		} else {
			lo = x
		}
		slope := 1/reach + 2*dv/v
		if !math.IsNaN(last) {
			slope = (g - gLast) / (x - last)
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
		}
		if math.Abs(next-x) < 1e-7*a.lit.A {
			return x, p
		}
		if last, gLast = x, g; math.IsInf(g, 0) {
			last = math.NaN()
		}
		x = next
	}
	return x, p
}

// beyondPeak is the point above the peak at which the array gives power p [W]
// at the controller's terminals: where an mppt controller walks when it holds
// back. maxPower must have been called.
func (a *array) beyondPeak(p float64) (v, i float64) {
	line := a.before + a.after
	a.open()
	lo, hi := a.xPeak, a.xOpen
	x := hi
	for range 100 {
		var dv, di float64
		v, i, dv, di = a.drive(x, line)
		y, slope := v*i-p, dv*i+v*di
		if y > 0 {
			lo = x
		} else {
			hi = x
		}
		next := x - y/slope
		enough := 1e-7
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
			enough = 1e-14
		}
		step := next - x
		if x = next; math.Abs(step) < enough*(1+math.Abs(x)) {
			return v + step*dv, i + step*di
		}
	}
	return v, i
}
