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
	x       float64 // the last solution, to start the next one
	other   float64 // diode voltage of the second class, likewise
	xBypass float64 // below it the shaded groups are bypassed
	litThen float64 // diode voltage of the lit groups there
	iThen   float64 // and the string's current
	xOpen   float64 // at open circuit
	xPeak   float64 // at the maximum power point
}

func (a *array) add(c stringClass) {
	a.classes[a.n] = c
	a.n++
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
			vl := d.atCurrent(i)
			_, s := d.current(vl)
			v += c.full * (vl - d.Rs*i)
			dv += c.full * (di/s - d.Rs*di)
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
		var io, s float64
		io, s, a.other = a.lit.atVoltage(v/o.full, a.other)
		i += o.count * io
		di += o.count * s / o.full * dv
	}
	i -= a.leak * v
	di -= a.leak * dv
	return v - line*i, i, dv - line*di, di
}

// span brackets x between a short circuit with room to spare and open circuit.
func (a *array) span() (lo, hi float64) {
	c := &a.classes[0]
	if c.shaded == 0 {
		return -2 * bypassDrop, 1.3 * a.lit.aboveOpen()
	}
	lo = a.xBypass - 1
	if c.full > 0 {
		lo -= a.litThen
	}
	return lo, 1.3*a.dim.aboveOpen() + 1 // back-fed by the other strings
}

// seek finds x where f, rising in x, is zero; f returns its slope too.
func (a *array) seek(x float64, f func(x float64) (y, slope float64)) float64 {
	lo, hi := a.span()
	if !(x > lo && x < hi) {
		x = (lo + hi) / 2
	}
	tol := 1e-10 * (hi - lo)
	for range 100 {
		y, slope := f(x)
		if y > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - y/slope
		if !(next > lo && next < hi) {
			// Newton left the bracket; an open end is widened, else halve.
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) < tol {
			return next
		}
		x = next
	}
	return x
}

// ready finds the open-circuit point, from which the others start.
func (a *array) ready() {
	a.x, a.other, a.xOpen = math.NaN(), math.NaN(), math.NaN()
	if a.n == 0 {
		return
	}
	c := &a.classes[0]
	d := &a.lit
	if c.shaded > 0 {
		d = &a.dim
		a.xBypass = -2 * bypassDrop
		if c.full > 0 {
			a.iThen, _, a.xBypass = d.atVoltage(-bypassDrop, math.NaN())
			a.litThen = a.lit.atCurrent(a.iThen)
		}
	}
	if a.n == 1 && a.leak == 0 {
		a.xOpen = d.atCurrent(0)
	} else {
		a.xOpen = a.seek(math.NaN(), func(x float64) (float64, float64) {
			_, i, _, di := a.drive(x, 0)
			return -i, -di
		})
	}
	a.x = a.xOpen
}

// openVoltage is the voltage at which no current leaves the modules.
func (a *array) openVoltage() float64 {
	if a.n == 0 {
		return 0
	}
	v, _, _, _ := a.drive(a.xOpen, 0)
	return v
}

// current is the current at voltage v across terminals reached over extra
// [ohm] beyond the cable; it may be negative.
func (a *array) current(v, extra float64) float64 {
	line := a.before + a.after + extra
	if a.n == 0 {
		return -a.leak * v / (1 + a.leak*line)
	}
	a.x = a.seek(a.x, func(x float64) (float64, float64) {
		t, _, dt, _ := a.drive(x, line)
		return t - v, dt
	})
	_, i, _, _ := a.drive(a.x, line)
	return i
}

// maxPower is the voltage and current at the controller's terminals that give
// the most power; of several peaks the highest.
func (a *array) maxPower() (v, i float64) {
	if a.n == 0 {
		return 0, 0
	}
	line := a.before + a.after
	c := &a.classes[0]
	switch {
	case a.n == 1 && a.leak == 0 && c.shaded == 0:
		a.xPeak = maxPowerVd(&a.lit, c.full, c.count, line)
	case c.shaded > 0 && c.full > 0:
		// One peak with the shadow's groups at work, one with them bypassed.
		lo, _ := a.span()
		x1, p1 := a.peak(a.xBypass, a.xOpen, line)
		x2, p2 := a.peak(lo, a.xBypass, line)
		if a.xPeak = x1; p2 > p1 {
			a.xPeak = x2
		}
	default:
		lo, _ := a.span()
		a.xPeak, _ = a.peak(lo, a.xOpen, line)
	}
	v, i, _, _ = a.drive(a.xPeak, line)
	return v, i
}

// peak is the largest power between lo and hi, by golden section.
func (a *array) peak(lo, hi, line float64) (x, p float64) {
	power := func(x float64) float64 {
		v, i, _, _ := a.drive(x, line)
		return v * i
	}
	const golden = 0.6180339887498949
	tol := 1e-5 * (hi - lo)
	x1, x2 := hi-golden*(hi-lo), lo+golden*(hi-lo)
	p1, p2 := power(x1), power(x2)
	for hi-lo > tol {
		if p1 > p2 {
			hi, x2, p2 = x2, x1, p1
			x1 = hi - golden*(hi-lo)
			p1 = power(x1)
		} else {
			lo, x1, p1 = x1, x2, p2
			x2 = lo + golden*(hi-lo)
			p2 = power(x2)
		}
	}
	x = (lo + hi) / 2
	return x, power(x)
}

// beyondPeak is the point above the peak at which the array gives power p [W]
// at the controller's terminals: where an mppt controller walks when it holds
// back. maxPower must have been called.
func (a *array) beyondPeak(p float64) (v, i float64) {
	line := a.before + a.after
	lo, hi := a.xPeak, a.xOpen
	x := hi
	tol := 1e-9 * math.Abs(hi-lo)
	for range 100 {
		v, i, dv, di := a.drive(x, line)
		y, slope := v*i-p, dv*i+v*di
		if y > 0 {
			lo = x
		} else {
			hi = x
		}
		next := x - y/slope
		if !(next > lo && next < hi) {
			next = (lo + hi) / 2
		}
		if math.Abs(next-x) <= tol {
			x = next
			break
		}
		x = next
	}
	v, i, _, _ = a.drive(x, line)
	return v, i
}
