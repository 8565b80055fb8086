package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/site"
)

// Physical constants and the reference condition of a nameplate.
//
// Source: SI 2019 (exact); STC of IEC 60904-3.
const (
	boltzmannEV  = 1.380649e-23 / 1.602176634e-19 // [eV/K]
	refC         = 25.0                           // [°C]
	refK         = 298.15                         // [K]
	refLight     = 1000.0                         // [W/m2]
	bandGapEV    = 1.121                          // silicon at 25 °C [eV]
	bandGapSlope = 0.0002677                      // relative fall per K
)

// A Diode is a single-diode model of some cells in series,
//
//	I = IL − I0·(exp(Vd/A) − 1) − Vd·Gsh,  V = Vd − I·Rs,
//
// with the diode voltage Vd as the variable in which both the terminal voltage
// and the current are explicit.
//
// Source: W. De Soto, S. A. Klein, W. A. Beckman, "Improvement and validation
// of a model for photovoltaic array performance", Solar Energy 80 (2006) 78–88.
type Diode struct {
	IL  float64 // light current [A]
	I0  float64 // saturation current [A]
	A   float64 // modified ideality factor n·Ns·k·T/q [V]
	Rs  float64 // series resistance [ohm]
	Gsh float64 // shunt conductance [S]
}

// current and its slope at the diode voltage vd.
func (d *Diode) current(vd float64) (i, slope float64) {
	x := vd / d.A
	if x > 200 {
		x = 200
	}
	e := d.I0 * fastmath.Exp(x)
	return d.IL - (e - d.I0) - vd*d.Gsh, -e/d.A - d.Gsh
}

// bend is the slope's own slope against the diode voltage, where it is slope.
func (d *Diode) bend(slope float64) float64 { return (slope + d.Gsh) / d.A }

// slopeAt is the slope of the current at vd, where it is known to be i.
func (d *Diode) slopeAt(vd, i float64) float64 {
	return (i+vd*d.Gsh-d.IL-d.I0)/d.A - d.Gsh
}

// atCurrent is the diode voltage at which the current is i; guess is one to
// start from, 0: none.
func (d *Diode) atCurrent(i, guess float64) float64 {
	j := d.IL - i
	var vd float64
	if j <= 0 { // beyond the light current the shunt conducts, and the diode's reverse current
		vd = j / (d.Gsh + d.I0/d.A)
		if d.Gsh == 0 && j <= -d.I0 {
			return vd // neither can
		}
	} else {
		vd = guess
		if vd == 0 || vd*d.Gsh > j/2 {
			vd = d.A * fastmath.Log(j/d.I0+1)
		}
		// Where most of it flows in the diode the equation is, in its logarithm,
		// nearly a straight line: Halley's steps, whose next error is near q³·A/3.
		for vd*d.Gsh < j/2 {
			e := j - vd*d.Gsh + d.I0
			bend := d.A * d.Gsh / e
			step := (vd - d.A*fastmath.Log(e/d.I0)) / (1 + bend)
			q := step * d.Gsh / e
			vd -= step / (1 - q*bend/(2+2*bend))
			if math.Abs(q) < 2e-4 {
				return vd
			}
		}
		vd = min(vd, j/d.Gsh)
	}
	// Where most flows in the shunt it is so as it stands.
	for range 200 {
		f, slope := d.current(vd)
		step := (f - i) / slope
		vd -= step
		if math.Abs(step) < 1e-8*d.A {
			break
		}
	}
	return vd
}

// aboveOpen is a bound of the open-circuit voltage: the diode alone [V].
func (d *Diode) aboveOpen() float64 { return d.A * fastmath.Log(d.IL/d.I0+1) }

// Voltage at the terminals for a current i [V].
func (d *Diode) Voltage(i float64) float64 { return d.atCurrent(i, 0) - i*d.Rs }

// OpenVoltage is Voc [V].
func (d *Diode) OpenVoltage() float64 { return d.atCurrent(0, 0) }

// Current at a terminal voltage v [A].
func (d *Diode) Current(v float64) float64 {
	i, _, _, _ := d.atVoltage(v, new(place))
	return i
}

// A place on a diode's curve: where the last solution was, to start the next.
type place struct {
	ln float64 // the constant of the equation
	z  float64 // its right side, see atVoltage
	y  float64 // and its solution; 0: none yet
}

// atVoltage finds the current at terminal voltage v, its slopes dI/dV and
// d²I/dV², and the diode voltage.
//
// With k = 1 + Rs·Gsh the equation is vd + Rs·I0/k·exp(vd/A) = w, w =
// (v + Rs·(IL + I0))/k; its second term over A is y = ω(w/A + ln(Rs·I0/(k·A))).
func (d *Diode) atVoltage(v float64, p *place) (i, didv, bend, vd float64) {
	if d.Rs == 0 {
		i, didv = d.current(v)
		return i, didv, d.bend(didv), v
	}
	k := 1 + d.Rs*d.Gsh
	if p.y == 0 {
		p.ln = fastmath.Log(d.Rs * d.I0 / (k * d.A))
	}
	w := (v + d.Rs*(d.IL+d.I0)) / k
	z := w/d.A + p.ln
	guess := 0.0
	if rise := (z - p.z) / (1 + p.y); math.Abs(rise) < 1 { // of ln y, nearly
		guess = p.y * (1 + rise + rise*rise/2)
	}
	p.z, p.y = z, omega(z, guess)
	vd = w - d.A*p.y
	i = d.IL + d.I0 - p.y*d.A*k/d.Rs - vd*d.Gsh
	s := d.slopeAt(vd, i)
	f := 1 / (1 - d.Rs*s)
	return i, s * f, d.bend(s) * f * f * f, vd
}

// near is a diode voltage close to that of terminal voltage v where at most i
// flows.
func (d *Diode) near(v, i float64) float64 {
	open := d.aboveOpen()
	if v > open { // fed
		_, _, _, vd := d.atVoltage(v, new(place))
		return vd
	}
	return min(v+d.Rs*i, open)
}

// knee is about the diode voltage of the most power where the terminals show
// times the diode's voltage.
func (d *Diode) knee(times float64) float64 {
	open := d.aboveOpen()
	return open - d.A*math.Log1p(times*open/d.A)
}

// MaxPower is the maximum power point [A], [V].
func (d *Diode) MaxPower() (imp, vmp float64) {
	a := array{lit: *d, n: 1, classes: [2]stringClass{{count: 1, full: 1}}}
	a.ready()
	vmp, imp = a.maxPower()
	return imp, vmp
}

// At moves the model from standard test conditions to light g [W/m2] and cell
// temperature c [°C]; alpha is the temperature coefficient of the light current
// [A/K]. The shunt conductance follows (g/1000)^shunt, 1 in De Soto's model,
// down to a tenth of full light.
//
// Source: De Soto et al. 2006, the relations for IL, I0, a and Rsh.
func (d *Diode) At(g, c, alpha, shunt float64) Diode {
	return d.shifted(moveTo(g, c, shunt), alpha, 1)
}

// A shift holds what a change of light and temperature does to any diode.
type shift struct{ light, dT, temp, lnSat, shunt float64 }

// shuntFloor is the share of full light below which the shunt conductance falls
// no further: measured modules keep some in the dark, a quarter to a tenth of
// that in full light (from memory).
const shuntFloor = 0.1

func moveTo(g, c, shunt float64) shift {
	k := c + 273.15
	gap := bandGapEV * (1 - bandGapSlope*(k-refK))
	rel := k / refK
	s := shift{
		light: g / refLight,
		dT:    k - refK,
		temp:  rel,
		lnSat: 3*fastmath.Log(rel) + bandGapEV/(boltzmannEV*refK) - gap/(boltzmannEV*k),
		shunt: 1,
	}
	switch shunt {
	case 0:
	case 1:
		s.shunt = max(s.light, shuntFloor)
	default:
		s.shunt = fastmath.Exp(shunt * fastmath.Log(max(s.light, shuntFloor)))
	}
	return s
}

// shifted is the diode moved; its saturation current follows De Soto's to the power sat.
func (d *Diode) shifted(s shift, alpha, sat float64) Diode {
	return Diode{
		IL:  s.light * (d.IL + alpha*s.dT),
		I0:  d.I0 * fastmath.Exp(sat*s.lnSat),
		A:   d.A * s.temp,
		Rs:  d.Rs,
		Gsh: d.Gsh * s.shunt,
	}
}

// scaled is the model of a fraction f of the cells in series.
func (d Diode) scaled(f float64) Diode {
	return Diode{IL: d.IL, I0: d.I0, A: d.A * f, Rs: d.Rs * f, Gsh: d.Gsh / f}
}

// A Fit is a module's model at standard test conditions with what the
// nameplate asked for and the model could not give.
type Fit struct {
	Diode
	Alpha      float64 // of the light current [A/K]
	VocMisfit  float64 // model's Voc slope minus the nameplate's, relative [1/K]
	PeakMisfit float64 // model's greatest power over the nameplate's Vmp·Imp, minus 1
}

// FitNameplate finds the single-diode parameters of a module from its
// nameplate: exact at Isc, Voc and the maximum power point where a model with
// non-negative shunt exists, and as near to the Voc temperature coefficient as
// that leaves room for.
//
// Source: the five conditions of De Soto et al. 2006; for a given ideality the
// first three are linear in IL, I0 and Gsh, which leaves Rs to a root search.
func FitNameplate(m site.Module) Fit {
	best, bestN, bestCost := Fit{}, 0.0, math.Inf(1)
	try := func(n float64) {
		f := fitNameplate(m, n)
		// A miss at the power point counts far above one of the coefficient.
		if cost := math.Abs(f.PeakMisfit)*100 + math.Abs(f.VocMisfit)*1e3; cost < bestCost {
			best, bestN, bestCost = f, n, cost
		}
	}
	const coarse, fine = 0.05, 1e-4
	for n := 0.70; n < 2.0; n += coarse {
		try(n)
	}
	for step := coarse / 2; step > fine; step /= 2 {
		n := bestN
		try(n - step)
		try(n + step)
	}
	return best
}

// fitNameplate is the fit with ideality n.
func fitNameplate(m site.Module, n float64) Fit {
	d, miss := fitIdeality(m, n*boltzmannEV*refK*float64(m.Cells)) // n·Ns·k·T/q [V]
	f := Fit{Diode: d, Alpha: m.IscPctPerC / 100 * m.IscA, PeakMisfit: miss}
	hot := d.At(refLight, refC+25, f.Alpha, 1)
	f.VocMisfit = (hot.OpenVoltage()/d.OpenVoltage()-1)/25 - m.VocPctPerC/100
	return f
}

// fitIdeality solves for Rs at a given modified ideality a; miss is the
// relative error of the greatest power where only a shuntless model remains.
func fitIdeality(m site.Module, a float64) (d Diode, miss float64) {
	rsMax := (m.VocV - m.VmpV) / m.ImpA
	// The slope condition at the power point, zero where dP/dV = 0.
	slope := func(rs float64) (float64, Diode) {
		d := linearFit(m, a, rs)
		vd := m.VmpV + m.ImpA*rs
		_, di := d.current(vd)
		return m.ImpA + m.VmpV*di/(1-rs*di), d
	}
	const steps = 60
	var prev float64
	havePrev := false
	for k := range steps + 1 {
		rs := rsMax * float64(k) / steps * 0.999
		f, cand := slope(rs)
		if !(cand.I0 > 0) || math.IsNaN(f) {
			havePrev = false
			continue
		}
		if havePrev && prev*f <= 0 {
			lo, hi := rs-rsMax/steps*0.999, rs
			flo := prev
			for range 60 {
				mid := (lo + hi) / 2
				fm, _ := slope(mid)
				if flo*fm <= 0 {
					hi = mid
				} else {
					lo, flo = mid, fm
				}
			}
			_, d = slope((lo + hi) / 2)
			if d.I0 > 0 && d.Gsh >= 0 {
				return d, 0
			}
		}
		prev, havePrev = f, true
	}
	// No exact model: drop the shunt, keep Isc, Voc and the current at Vmp.
	lo, hi := 0.0, rsMax*0.999
	atPeak := func(rs float64) (float64, Diode) {
		i0 := m.IscA / math.Expm1(m.VocV/a)
		d := Diode{IL: m.IscA, I0: i0, A: a, Rs: rs}
		i, _ := d.current(m.VmpV + m.ImpA*rs)
		return i - m.ImpA, d
	}
	flo, d := atPeak(lo)
	if fhi, _ := atPeak(hi); flo*fhi < 0 { // else even Rs = 0 falls short
		for range 60 {
			mid := (lo + hi) / 2
			if f, _ := atPeak(mid); f*flo > 0 {
				lo = mid
			} else {
				hi = mid
			}
		}
		_, d = atPeak((lo + hi) / 2)
	}
	imp, vmp := d.MaxPower()
	return d, imp*vmp/(m.ImpA*m.VmpV) - 1
}

// linearFit solves the conditions at Isc, Voc and (Vmp, Imp) for IL, I0, Gsh.
func linearFit(m site.Module, a, rs float64) Diode {
	// IL − I0·x − Gsh·v = i at three points; subtract the first from the others.
	v1, v2, v3 := m.IscA*rs, m.VocV, m.VmpV+m.ImpA*rs
	x1, x2, x3 := math.Expm1(v1/a), math.Expm1(v2/a), math.Expm1(v3/a)
	i1, i2, i3 := m.IscA, 0.0, m.ImpA
	a11, a12, b1 := x2-x1, v2-v1, i1-i2
	a21, a22, b2 := x3-x1, v3-v1, i1-i3
	det := a11*a22 - a12*a21
	i0 := (b1*a22 - a12*b2) / det
	g := (a11*b2 - b1*a21) / det
	return Diode{IL: i1 + i0*x1 + g*v1, I0: i0, A: a, Rs: rs, Gsh: g}
}
