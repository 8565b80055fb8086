package belief

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A frame is a mode's own coordinates: along those axes of its curvature that the
// readings bear on, and with the stiff ones, which the readings hold tight, bent along
// the valley that they follow where the soft ones move. In them, and across them as
// before any reading, the posterior is close to normal.
type frame struct {
	active []int
	axes   []float64 // one row an axis, over the active coordinates
	centre []float64 // the mode, along the axes
	mean   []float64 // of the posterior
	add    []float64 // what the readings add to the prior's precision of 1 along each axis
	stiff  []int     // axes
	bent   []int     // places in active whose moves bend the valley
	rest   []float64 // of each of them, what of the mode is not along stiff axes
	bend   []float64 // of each stiff axis, half the second derivatives over bent × bent
}

// From bearsFrom on, readings bear on an axis, and from stiffFrom on it is held by them
// and not by the prior; curveStep is how far along the soft axes the valley is followed, and from
// bendFrom on its bend counts, in standard deviations of the stiff axis.
const (
	bearsFrom = 0.05
	stiffFrom = 15
	curveStep = 0.7
	bendFrom  = 0.15
)

// newFrame works the frame of a mode out; nil where there is none.
func (md *mode) newFrame(e *evaluator) *frame {
	n := len(md.active)
	f := &frame{active: md.active}
	var eig mat.EigenSym
	if !eig.Factorize(md.prec, true) {
		return nil
	}
	values := eig.Values(nil)
	var vectors mat.Dense
	eig.VectorsTo(&vectors)
	for i, value := range values {
		if value < 1+bearsFrom {
			continue
		}
		if value > 1+stiffFrom {
			f.stiff = append(f.stiff, len(f.add))
		}
		f.add = append(f.add, value-1)
		for a := range n {
			f.axes = append(f.axes, vectors.At(a, i))
		}
	}
	f.centre = f.along(&md.z, make([]float64, len(f.add)))
	f.mean = slices.Clone(f.centre)
	f.follow(md, e)
	md.tangent = nil
	f.rest = make([]float64, len(f.bent))
	for p, a := range f.bent {
		f.rest[p] = f.soft(&md.z, f.centre, a)
	}
	return f
}

// learn takes mean and precision from n points that follow the posterior, as
// far as they moved on often enough.
func (f *frame) learn(n, moves float64, sum, squares []float64) {
	const (
		trusted = 150 // moves that weigh as much as the curvature
		least   = 0.6 // of the variance by the curvature: a walk that hardly moved knows little
	)
	w := moves / (moves + trusted)
	for i := range f.mean {
		mean := sum[i] / n
		before := 1 / (1 + f.add[i])
		variance := max((1-w)*before+w*(squares[i]/n-mean*mean), least*before)
		f.mean[i] += w * (mean - f.mean[i])
		f.add[i] = 1/variance - 1
	}
}

// along gives the components of z along the axes.
func (f *frame) along(z *[dims]float64, y []float64) []float64 {
	n := len(f.active)
	var x [firstError]float64
	for a, d := range f.active {
		x[a] = z[d]
	}
	for i := range y {
		y[i] = inner(f.axes[i*n:i*n+n], x[:n])
	}
	return y
}

// inner is the inner product of two vectors, in four sums that a processor can
// add up side by side.
func inner(a, b []float64) float64 {
	var s0, s1, s2, s3 float64
	for len(a) >= 4 && len(b) >= 4 {
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		a, b = a[4:], b[4:]
	}
	for i, x := range a {
		s0 += x * b[i]
	}
	return s0 + s1 + s2 + s3
}

// follow finds how the valley bends.
func (f *frame) follow(md *mode, e *evaluator) {
	m, n := e.m, len(f.active)
	if len(f.stiff) == 0 || len(m.obs) == 0 {
		return
	}
	h := &m.hyps[md.hyp]
	g := md.tangent
	here := &g.here
	// The soft part of each coordinate's direction.
	soft := make([]float64, n*n)
	for a := range n {
		soft[a*n+a] = 1
		for _, s := range f.stiff {
			v := f.axes[s*n+a]
			for b := range n {
				soft[a*n+b] -= v * f.axes[s*n+b]
			}
		}
	}
	// second is how much more the stiff axes must give way there and back along a
	// direction than along a line: half the second derivative times the step's square.
	second := func(a, b int) (give []float64, ok bool) {
		diff := make([]float64, len(m.obs))
		for _, sign := range [...]float64{1, -1} {
			z := md.z
			for c, d := range f.active {
				step := soft[a*n+c]
				if b >= 0 {
					step += soft[b*n+c]
				}
				z[d] += sign * curveStep * step
			}
			e.solve(&z, h)
			if e.out.Regulating != here.Regulating || e.out.Charging != here.Charging || e.out.LoadsCut != here.LoadsCut {
				return nil, false
			}
			for i := range m.obs {
				k := m.obs[i].index
				diff[i] += (e.out.Value[k] - here.Value[k]) / 2
			}
		}
		pull := g.pullOf(diff)
		give = make([]float64, len(f.stiff))
		for k, s := range f.stiff {
			var x float64
			for c := range n {
				x += f.axes[s*n+c] * pull[c]
			}
			give[k] = -x / (1 + f.add[s])
		}
		return give, true
	}
	var single [][]float64
	for a := range n {
		give, ok := second(a, -1)
		if !ok {
			continue
		}
		for k, s := range f.stiff {
			if math.Abs(give[k])*math.Sqrt(1+f.add[s]) > bendFrom {
				f.bent = append(f.bent, a)
				single = append(single, give)
				break
			}
		}
	}
	size := len(f.bent)
	f.bend = make([]float64, len(f.stiff)*size*size)
	square := curveStep * curveStep
	for p, a := range f.bent {
		for q := range p + 1 {
			var cross []float64
			if p == q {
				cross = single[p]
			} else {
				give, ok := second(a, f.bent[q])
				if !ok {
					continue
				}
				cross = give
				for k := range cross {
					cross[k] = (give[k] - single[p][k] - single[q][k]) / 2
				}
			}
			for k := range f.stiff {
				f.bend[(k*size+p)*size+q] = cross[k] / square
				f.bend[(k*size+q)*size+p] = cross[k] / square
			}
		}
	}
}

// soft is what of an active coordinate of z is not along stiff axes; y are the
// components along all.
func (f *frame) soft(z *[dims]float64, y []float64, a int) float64 {
	x := z[f.active[a]]
	for _, s := range f.stiff {
		x -= y[s] * f.axes[s*len(f.active)+a]
	}
	return x
}

// valley is how far the stiff axes are bent at z, whose components are y.
func (f *frame) valley(z *[dims]float64, y, shift []float64) {
	size := len(f.bent)
	var t [firstError]float64
	for p, a := range f.bent {
		t[p] = min(max(f.soft(z, y, a)-f.rest[p], -bendReach), bendReach)
	}
	for k := range f.stiff {
		var s float64
		for p := range size {
			s += inner(f.bend[(k*size+p)*size:(k*size+p+1)*size], t[:size]) * t[p]
		}
		shift[k] = s
	}
}

// bendReach is how far a bend found at curveStep is trusted.
const bendReach = 2.2

// into gives z, whose components along the axes are y, in the frame: the valley's bend
// taken out.
func (f *frame) into(z *[dims]float64, y, u []float64) {
	var shift [firstError]float64
	f.valley(z, y, shift[:])
	copy(u, y)
	for k, s := range f.stiff {
		u[s] -= shift[k]
	}
}

// out moves z, whose components along the axes are y, to the point u of the frame;
// across the axes it stays. It leaves the new components in y.
func (f *frame) out(z *[dims]float64, y, u []float64) {
	stiff := 0
	for i := range y {
		if stiff < len(f.stiff) && f.stiff[stiff] == i {
			stiff++
			continue
		}
		f.shift(z, i, u[i]-y[i])
		y[i] = u[i]
	}
	var shift [firstError]float64
	f.valley(z, y, shift[:])
	for k, i := range f.stiff {
		x := u[i] + shift[k]
		f.shift(z, i, x-y[i])
		y[i] = x
	}
}

// shift moves z along the i-th axis.
func (f *frame) shift(z *[dims]float64, i int, by float64) {
	n := len(f.active)
	for a, x := range f.axes[i*n : i*n+n] {
		z[f.active[a]] += by * x
	}
}

// A shape is a mode's normal density in its frame, with the readings widened.
type shape struct {
	centre []float64
	root   []float64 // of the precision along each axis
	lnDet  float64   // of the precision
}

// shape widens the readings by a factor. With A what the readings add to the
// prior's precision of 1, the precision is 1 + A/w², and its centre is where a
// likelihood that falls off by A and is least surprised at c, A·c = z + A·z at
// the mode z, meets the prior.
func (f *frame) shape(width float64) shape {
	ease := 1 / (width * width)
	s := shape{centre: make([]float64, len(f.add)), root: make([]float64, len(f.add))}
	for i, a := range f.add {
		p := max(1+ease*a, minPrecision)
		s.root[i] = math.Sqrt(p)
		s.lnDet += math.Log(p)
		s.centre[i] = ease * (1 + a) * f.mean[i] / p
	}
	return s
}

// minPrecision along an axis, times the prior's.
const minPrecision = 0.3

// draw turns standard normal draws into one of the shape.
func (s *shape) draw(x, u []float64) {
	for i := range u {
		u[i] = s.centre[i] + x[i]/s.root[i]
	}
}

// quad is the squared distance of u from the centre, in standard deviations.
func (s *shape) quad(u []float64) float64 {
	var q float64
	for i, x := range u {
		d := (x - s.centre[i]) * s.root[i]
		q += d * d
	}
	return q
}
