package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
)

// loads is the load side: a wire, and loads at its far end.
type loads struct {
	on    bool
	watts float64
	shape float64
	line  float64 // [ohm]
	rated float64 // voltage at which watts are drawn [V]
	drain float64 // unlisted, at the near end [A]
}

// draw is the current taken at voltage v of the near end with its slope, and
// the voltage at the far end.
func (l *loads) draw(v float64) (i, didv, end float64) {
	if !l.on || v <= 0 {
		return 0, 0, 0
	}
	drain := l.drain
	if v < 1 { // an unlisted draw needs a voltage to draw from
		drain *= v
	}
	if l.watts <= 0 {
		return drain, 0, v
	}
	// Both kinds of load share the wire: line·(g·e + w/e) = v − e at their
	// voltage e, down to 60 % of the rated voltage; below it the constant power
	// is a resistor too.
	floor := 0.6 * l.rated
	g := l.shape * l.watts / (l.rated * l.rated)
	w := (1 - l.shape) * l.watts
	k := 1 + l.line*g
	root := math.Sqrt(max(v*v-4*k*l.line*w, 0))
	if end = (v + root) / (2 * k); root > 0 && end >= floor {
		return g*end + w/end + drain, (g*end - w/end) / root, end
	}
	g += w / (floor * floor)
	k = 1 + l.line*g
	return v*g/k + drain, g / k, v / k
}

// bus is the battery side of the controller: battery, cable, loads.
type bus struct {
	cell   cell
	n      float64   // cells that give voltage
	line   float64   // battery cable and joints [ohm]
	weak   cell      // those of a weak block in series
	weakN  float64   // cells of it
	odd    oddString // a string with a shorted cell beside healthy ones
	direct loads     // at the posts
	output loads     // at the load output
	mains  charger   // at the posts

	inverter loads // at the posts, or at the load output
	atOutput bool  // the latter

	own   float64 // the controller's own use [A]
	drain float64 // at the controller's battery terminals [A]
}

// A point is the battery side at one main-reaction current m of the battery,
// in which all of it is explicit.
type point struct {
	m, eta, ib, post, direct, cable, vc, load, end, net float64
	inverter, inverterV, mains, odd                     float64
	dvc, dnet                                           float64 // slopes against m
}

// at works out the battery side at m.
func (b *bus) at(m float64, p *point) {
	c := &b.cell
	p.m = m
	var deta, dib, slope float64
	p.eta, deta, p.ib, dib = c.main(m)
	p.post = b.n * (c.emf + p.eta + p.ib*c.ohm)
	dpost := b.n * (deta + dib*c.ohm)
	if b.weakN > 0 { // it gasses as its neighbours do
		w := &b.weak
		eta, d, _, _ := w.main(m)
		p.post += b.weakN * (w.emf + eta + p.ib*w.ohm - (c.emf + p.eta + p.ib*c.ohm))
		dpost += b.weakN * (d + dib*w.ohm - (deta + dib*c.ohm))
	}
	if b.odd.n > 0 {
		p.odd, slope = b.odd.current(p.post)
		p.ib += p.odd
		dib += slope * dpost
	}
	p.direct, slope, p.end = b.direct.draw(p.post)
	p.cable = p.ib + p.direct
	dcable := dib + slope*dpost
	if b.inverter.on && !b.atOutput {
		p.inverter, slope, p.inverterV = b.inverter.draw(p.post)
		p.cable += p.inverter
		dcable += slope * dpost
	}
	if b.mains.most > 0 {
		p.mains, slope = b.mains.gives(p.post)
		p.cable -= p.mains
		dcable -= slope * dpost
	}
	p.vc = p.post + p.cable*b.line
	p.dvc = dpost + dcable*b.line
	p.net, p.dnet = p.cable+b.own+b.drain, dcable
	p.load = 0
	if b.output.on {
		p.load, slope, p.end = b.output.draw(p.vc)
		p.net += p.load
		p.dnet += slope * p.dvc
		if b.inverter.on && b.atOutput {
			p.inverter, slope, p.inverterV = b.inverter.draw(p.vc)
			p.load += p.inverter
			p.net += p.inverter
			p.dnet += slope * p.dvc
		}
	}
}

// Tolerances of a solution: of a current [A] and of a voltage [V].
const (
	currentTol = 1e-9
	voltageTol = 1e-9
)

// seek finds m at which f, rising with m, is zero, by Newton's steps kept in a
// bracket; f returns its slope too.
func (b *bus) seek(p *point, m, tol float64, f func() (y, slope float64)) {
	lo, hi := math.Inf(-1), math.Inf(1)
	last, before := math.Inf(1), math.Inf(1) // the two values before y
	for range 100 {
		b.at(m, p)
		y, slope := f()
		if math.Abs(y) < tol {
			return
		}
		if y > 0 {
			hi = m
		} else {
			lo = m
		}
		reach := 2 * (1 + math.Abs(m))
		next := m - min(max(y/slope, -reach), reach)
		// Steps to and fro over the kink at m = 0 may not close in: then halve.
		stuck := math.Abs(y) > math.Abs(before)/2 && y*last < 0
		last, before = y, last
		if !(slope > 0) || !(next > lo && next < hi) || stuck {
			switch {
			case math.IsInf(hi, 1):
				next = m + reach
			case math.IsInf(lo, -1):
				next = m - reach
			default:
				next = (lo + hi) / 2
			}
		}
		if hi-lo < 1e-13*(1+math.Abs(m)) {
			return
		}
		m = next
	}
}

// stiffness is what an error of the current is counted times: next to full a
// battery answers a nanoampere with microvolts.
func (p *point) stiffness() float64 { return max(1, p.dvc/p.dnet) }

// balanceAt finds where the bus takes exactly i [A].
func (b *bus) balanceAt(p *point, i float64) {
	b.seek(p, i-b.own, currentTol, func() (float64, float64) {
		k := p.stiffness()
		return k * (p.net - i), k * p.dnet
	})
}

// holdAt finds where the bus stands at v [V].
func (b *bus) holdAt(p *point, v float64) {
	m, c := p.m, &b.cell
	if eta := p.eta - (p.vc-v)/b.n; eta > 0 { // the overvoltage takes up most
		e := fastmath.Exp(eta / c.etaC)
		m = c.i0C * (e - 1/e) / 2
	}
	b.seek(p, m, voltageTol, func() (float64, float64) { return p.vc - v, p.dvc })
}

// feedAt finds where the bus takes the power w [W]. It starts from p.
func (b *bus) feedAt(p *point, w float64) {
	b.seek(p, p.m, currentTol, func() (float64, float64) {
		v := max(p.vc, 1)
		k := p.stiffness()
		return k * (p.net - w/v), k * (p.dnet + w/(v*v)*p.dvc)
	})
}

// flood works out the bus under all the current that the light drives.
func (b *bus) flood(p *point, a *array, drop float64) {
	b.at(a.shortCurrent(b.n*b.cell.emf+drop)-b.usual(), p)
}

// connect finds the point at which the array, through line [ohm] and a drop
// [V], feeds the bus: array and bus in one pair of equations, in the variables
// in which each is explicit. It starts from p.
func (b *bus) connect(p *point, a *array, drop, line float64) (i float64) {
	line += a.before + a.after
	start := p.m
	x := a.near(p.vc + drop + line*p.net)
	for range 30 {
		s := a.drive(x, line)
		f1, f2 := s.v-p.vc-drop, s.i-p.net
		if math.Abs(f1) < voltageTol && math.Abs(f2)*p.stiffness() < currentTol {
			return s.i
		}
		det := -s.dv*p.dnet + p.dvc*s.di
		x += min(max((f1*p.dnet-p.dvc*f2)/det, -8*a.lit.A), 2*a.lit.A)
		m := p.m + (-s.dv*f2+s.di*f1)/det
		if math.IsNaN(m) {
			break
		}
		b.at(m, p)
	}
	// To and fro over a kink: along the battery's current alone, in a bracket. The
	// other way round would not do: where loads draw constant power, one current
	// can meet the bus at several voltages. It begins again, for the steps may have gone
	// astray.
	b.seek(p, start, currentTol, func() (float64, float64) {
		var slope float64
		i, slope = a.atVoltage(p.vc+drop, line-a.before-a.after)
		d := p.dnet - slope*p.dvc
		k := max(1, p.dvc/math.Abs(d))
		return k * (p.net - i), k * d
	})
	return i
}

// usual is about what is drawn beside the battery [A].
func (b *bus) usual() float64 {
	i := b.own + b.drain
	for _, l := range [...]*loads{&b.direct, &b.output, &b.inverter} {
		if l.on {
			i += l.watts/l.rated + l.drain
		}
	}
	return i
}
