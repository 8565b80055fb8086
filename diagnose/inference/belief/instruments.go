package belief

import (
	"math"
	"math/rand/v2"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/reading"
)

// The errors of the instruments are integrated out. Given the plant, what an
// instrument shows is linear in its errors and all are normal, so that the
// likelihood of its readings has a closed form. Gain and offset are shared by
// all readings of one instrument, which makes a difference of two voltages far
// more precise than either.
//
// A reading may besides come from a clamp turned round, or be simply wrong. The
// sum over all ways that all readings may have come about is replaced by the
// likeliest combination times what each reading alone adds in its other ways:
// exact but where two readings of one instrument are in doubt because of each
// other.

// latents are the errors of one instrument: gain, offset, a zero not set.
const latents = 3

type (
	vector [latents]float64
	matrix [latents][latents]float64
)

// A meterGroup is all readings of one instrument.
type meterGroup struct {
	obs          []int // of model.obs
	gain, offset float64
	gainAt       int // coordinates of the errors, −1: none
	offsetAt     int
	mayBeUnset   bool    // a clamp whose zero may not have been set
	lnRight      float64 // log of the chance that all are right, over the normals' √2π
}

// group sorts the observations by instrument.
func (m *model) group() {
	at := map[reading.Meter]int{}
	for i := range m.obs {
		o := &m.obs[i]
		k, ok := at[o.meter]
		if !ok {
			k = len(m.groups)
			at[o.meter] = k
			m.groups = append(m.groups, meterGroup{gain: o.gainError(), offset: o.offsetError(), gainAt: o.gain, offsetAt: o.offset})
		}
		g := &m.groups[k]
		g.obs = append(g.obs, i)
		g.lnRight += fastmath.Log(o.chances[right] / rootTwoPi)
		g.mayBeUnset = g.mayBeUnset || o.zero
	}
}

// A way is how a reading came about.
type way int

const (
	right way = iota
	turned
	wrong
	ways
)

// A fitted reading is one of a group with the way that it is taken to have come
// about.
type fitted struct {
	o        *observation
	value    float64 // what the plant has there
	variance float64
	design   vector // how the errors enter
	floats   bool
	way      way
	density  [ways]float64 // of each way, its chance included, given all other readings
}

// others is the odds of all other ways against the one taken.
func (r *fitted) others() float64 {
	return (r.density[right]+r.density[turned]+r.density[wrong])/r.density[r.way] - 1
}

// best is the likeliest way.
func (r *fitted) best() way {
	best := r.way
	for w := range ways {
		if r.density[w] > r.density[best] {
			best = w
		}
	}
	return best
}

// shown is the reading as it counts.
func (r *fitted) shown() float64 {
	if r.way == turned {
		return -r.o.y
	}
	return r.o.y
}

// residual is what the plant and the errors leave unexplained.
func (r *fitted) residual(errors *vector) float64 {
	return r.shown() - r.value - dot(&r.design, errors)
}

// A fit is one instrument's readings at one solution of the plant: their
// likelihood, and its errors given them [standard deviations].
type fit struct {
	readings []fitted
	trusting bool // every reading is taken for right
	lnL      float64
	mean     vector
	cov      matrix
}

// weigh gives the log likelihood of a group's readings at the last solution,
// every spread widened by temper times the reading's span. It leaves the fits
// with the zero set and not set, and the probability of the latter.
func (e *evaluator) weigh(g *meterGroup, temper float64) float64 {
	f := &e.fits[0]
	f.prepare(e, g, temper)
	f.settle()
	e.unset = 0
	if !g.mayBeUnset {
		return f.lnL
	}
	u := &e.fits[1]
	u.readings, u.trusting = append(u.readings[:0], f.readings...), f.trusting
	for i := range u.readings {
		if r := &u.readings[i]; r.o.zero {
			r.design[2] = unzeroedA
		}
	}
	u.settle()
	lnSet, lnUnset := f.lnL+fastmath.Log(1-unzeroedShare), u.lnL+fastmath.Log(unzeroedShare)
	top := max(lnSet, lnUnset)
	sum := fastmath.Exp(lnSet-top) + fastmath.Exp(lnUnset-top)
	e.unset = fastmath.Exp(lnUnset-top) / sum
	return top + fastmath.Log(sum)
}

// logOf is weigh for its likelihood alone.
func (e *evaluator) logOf(g *meterGroup, temper float64) float64 {
	if lnL, ok := e.plainly(g, temper); ok {
		return lnL
	}
	return e.weigh(g, temper)
}

// fit is the likelier of the last two fits.
func (e *evaluator) fit() *fit {
	if e.unset > 0.5 {
		return &e.fits[1]
	}
	return &e.fits[0]
}

func (f *fit) prepare(e *evaluator, g *meterGroup, temper float64) {
	f.readings, f.trusting = f.readings[:0], e.trusting
	for _, i := range g.obs {
		o := &e.m.obs[i]
		v := e.out.Value[o.index]
		r := fitted{
			o: o, value: v, floats: e.out.Floats[o.index], design: vector{g.gain * v, g.offset},
			variance: e.m.variance(o, &e.out) + square(temper*o.span),
		}
		f.readings = append(f.readings, r)
	}
}

// settle finds the likeliest combination of ways and the likelihood of all.
// Each change of a way makes the combination likelier; the limit is for ties.
func (f *fit) settle() {
	f.join()
	if f.trusting {
		return
	}
	for range 2 * len(f.readings) {
		var worst *fitted
		most := 1.0
		for i := range f.readings {
			r := &f.readings[i]
			if r.floats || r.density[right] == 1 {
				continue
			}
			if x := r.others(); x > most && r.density[r.best()] > r.density[r.way] {
				worst, most = r, x
			}
		}
		if worst == nil {
			break
		}
		worst.way = worst.best()
		f.join()
	}
	for i := range f.readings {
		if r := &f.readings[i]; !r.floats {
			f.lnL += fastmath.Log(1 + r.others())
		}
	}
}

// join takes all readings in the ways that they have: the errors given them,
// the likelihood of this combination, and the densities of each reading's ways
// given all others.
func (f *fit) join() {
	prec := matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	var pull vector
	product, peaks, quad := 1.0, 1.0, 0.0
	f.lnL = 0
	for i := range f.readings {
		r := &f.readings[i]
		switch {
		case r.floats:
			r.float()
			product *= r.density[right] + r.density[wrong]
		case r.way == wrong:
			product *= r.o.wrong / rootTwoPi
		default:
			w := 1 / r.variance
			d := r.shown() - r.value
			gather(&prec, &pull, &r.design, w, d)
			quad += w * d * d
			peaks *= w
			product *= r.o.chances[r.way] / rootTwoPi
		}
		if product < 1e-100 || peaks > 1e100 || peaks < 1e-100 {
			f.lnL += fastmath.Log(product * math.Sqrt(peaks))
			product, peaks = 1, 1
		}
	}
	var det float64
	f.cov, det = invert(&prec)
	f.mean = times(&f.cov, &pull)
	f.lnL += fastmath.Log(product*math.Sqrt(peaks/det)) - 0.5*(quad-dot(&pull, &f.mean))
	for i := range f.readings {
		r := &f.readings[i]
		if r.floats {
			continue
		}
		share := spread(&f.cov, &r.design)
		mean, variance := r.value+dot(&r.design, &f.mean), r.variance+share
		if r.way != wrong { // it had a say in the errors
			rest := 1 - share/r.variance
			mean, variance = r.shown()-r.residual(&f.mean)/rest, r.variance/rest
		}
		r.weigh(mean, variance)
	}
}

// weigh gives the densities of the ways where the other readings foretell mean
// and variance, all over that of a normal's peak.
func (r *fitted) weigh(mean, variance float64) {
	const (
		hopeless = 60  // squared deviations, from which another way is out of the question
		most     = 600 // where the one taken, which others are compared with, keeps a density
	)
	q := square(r.o.y-mean) / variance
	t := math.Inf(1)
	if r.o.flips {
		t = square(r.o.y+mean) / variance
	}
	if r.way == right && q < plainWithin && t > q+plainApart {
		r.density = [ways]float64{right: 1}
		return
	}
	r.density = [ways]float64{wrong: r.o.wrong * math.Sqrt(variance)}
	if q < hopeless || r.way == right {
		q = min(q, most)
		r.density[right] = r.o.chances[right] * fastmath.Exp(-0.5*q)
	}
	if t < hopeless || r.way == turned {
		t = min(t, most)
		r.density[turned] = r.o.chances[turned] * fastmath.Exp(-0.5*t)
	}
}

// float gives the densities of a reading at terminals that nothing holds. What
// it may show is so wide that the instrument's errors do not bind it.
func (r *fitted) float() {
	x := r.variance + square(r.design[1])
	good := r.o.floating(r.o.y-r.value, math.Sqrt(x))
	r.way = right
	r.density = [ways]float64{right: r.o.chances[right] * good, wrong: r.o.wrong / rootTwoPi}
}

// errors draws an instrument's errors given the plant and all its readings, and
// writes them into their coordinates.
func (e *evaluator) errors(g *meterGroup, z *[dims]float64, rng *rand.Rand) {
	e.weigh(g, 0)
	f := &e.fits[0]
	unset := rng.Float64() < e.unset
	if unset {
		f = &e.fits[1]
	}
	changed := false
	for i := range f.readings {
		r := &f.readings[i]
		if r.floats {
			continue
		}
		u := rng.Float64() * (r.density[right] + r.density[turned] + r.density[wrong])
		w := right
		for w < wrong && u >= r.density[w] {
			u -= r.density[w]
			w++
		}
		changed = changed || w != r.way
		r.way = w
	}
	if changed {
		f.join()
	}
	x := f.draw(rng)
	if g.gainAt >= 0 {
		z[g.gainAt] = x[0]
	}
	if g.offsetAt >= 0 {
		z[g.offsetAt] = x[1]
	}
	if g.mayBeUnset {
		z[dClampZero], z[dUnzeroed] = x[2], 0
		if unset {
			z[dUnzeroed] = 1
		}
	}
}

// draw takes one draw of the errors.
func (f *fit) draw(rng *rand.Rand) vector {
	low := root(&f.cov)
	x := f.mean
	for j := range latents {
		u := rng.NormFloat64()
		for i := j; i < latents; i++ {
			x[i] += low[i][j] * u
		}
	}
	return x
}

// root is the lower triangle L with L·Lᵀ = c.
func root(c *matrix) (low matrix) {
	for i := range latents {
		for j := range i + 1 {
			s := c[i][j]
			for k := range j {
				s -= low[i][k] * low[j][k]
			}
			switch {
			case i == j:
				low[i][i] = math.Sqrt(max(s, 0))
			case low[j][j] > 0:
				low[i][j] = s / low[j][j]
			}
		}
	}
	return low
}

func dot(a, b *vector) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func times(m *matrix, v *vector) (x vector) {
	for i := range m {
		x[i] = dot((*vector)(&m[i]), v)
	}
	return x
}

// gather adds one reading of weight w and residual d to the normal equations.
func gather(prec *matrix, pull, design *vector, w, d float64) {
	a, b, c := design[0], design[1], design[2]
	wa, wb := w*a, w*b
	pull[0] += wa * d
	pull[1] += wb * d
	prec[0][0] += wa * a
	prec[0][1] += wa * b
	prec[1][1] += wb * b
	prec[1][0] = prec[0][1]
	if c == 0 {
		return
	}
	pull[2] += w * c * d
	prec[0][2] += wa * c
	prec[1][2] += wb * c
	prec[2][2] += w * c * c
	prec[2][0], prec[2][1] = prec[0][2], prec[1][2]
}

// spread is the variance that errors of covariance c give a reading.
func spread(c *matrix, design *vector) float64 {
	a, b := design[0], design[1]
	v := c[0][0]*a*a + 2*c[0][1]*a*b + c[1][1]*b*b
	if d := design[2]; d != 0 {
		v += d * (2*(c[0][2]*a+c[1][2]*b) + c[2][2]*d)
	}
	return v
}

// invert is the inverse and the determinant of a symmetric matrix.
func invert(a *matrix) (inv matrix, det float64) {
	c00 := a[1][1]*a[2][2] - a[1][2]*a[1][2]
	c01 := a[0][2]*a[1][2] - a[0][1]*a[2][2]
	c02 := a[0][1]*a[1][2] - a[0][2]*a[1][1]
	c11 := a[0][0]*a[2][2] - a[0][2]*a[0][2]
	c12 := a[0][1]*a[0][2] - a[0][0]*a[1][2]
	c22 := a[0][0]*a[1][1] - a[0][1]*a[0][1]
	det = a[0][0]*c00 + a[0][1]*c01 + a[0][2]*c02
	inv = matrix{{c00, c01, c02}, {c01, c11, c12}, {c02, c12, c22}}
	for i := range inv {
		for j := range inv[i] {
			inv[i][j] /= det
		}
	}
	return inv, det
}
