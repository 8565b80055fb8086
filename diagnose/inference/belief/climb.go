package belief

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
	"gonum.org/v1/gonum/mat"

	"ampwalk/diagnose/physics/plant"
)

// A stage of a climb: so many steps with the spreads of all readings widened.
type stage struct {
	temper float64
	steps  int
}

// The stages of a climb: the first bring it near, the others to the mode.
var (
	nearing  = [...]stage{{startTemper / 9, 6}, {startTemper / 27, 5}}
	arriving = []stage{{startTemper / 81, 2}, {0, 8}}
)

// climb moves z by damped Gauss–Newton steps toward a most probable point of
// hypothesis k and gives its cost in the last stage. Slopes are carried along and
// taken anew where they lead no further.
func (g *tangent) climb(z *[dims]float64, stages []stage) (cost float64) {
	g.slopes(z)
	return g.follow(z, stages, true)
}

// near climbs from s through one stage of nearing, with the slopes that g has. With
// trust every reading is taken for right on the way: one that is out of reach at the
// start, and so held for wrong, has no pull, and the climb would never turn back to it.
func (g *tangent) near(s *start, stage int) {
	g.e.trusting = s.trusting
	s.cost = g.follow(&s.z, nearing[stage:stage+1], false)
	g.e.trusting = false
	if s.trusting {
		s.cost = g.e.cost(&s.z, g.h, nearing[stage].temper)
	}
}

// adopt takes over the slopes of another tangent.
func (g *tangent) adopt(other *tangent) {
	g.here, g.exact = other.here, other.exact
	copy(g.jac, other.jac)
}

// follow climbs with the slopes as they are; anew says whether they may be taken
// anew on the way.
func (g *tangent) follow(z *[dims]float64, stages []stage, anew bool) (cost float64) {
	e, h := g.e, g.h
	for _, t := range stages {
		e.out = g.here
		cost = e.costHere(z, h, t.temper)
		lambda := 0.0
		for range t.steps {
			g.gather(z, t.temper)
			moved := false
			for range 5 {
				next, ok := g.next(z, lambda)
				if !ok {
					lambda = 10*lambda + 1e-3
					continue
				}
				c := e.cost(&next, h, t.temper)
				if c < cost {
					moved = cost-c > 1e-3
					g.carry(z, &next)
					*z, cost = next, c
					lambda /= 10
					break
				}
				lambda = 10*lambda + 1e-2
			}
			if moved {
				continue
			}
			if g.exact || !anew {
				break
			}
			g.slopes(z)
			lambda = 0
		}
	}
	return cost
}

// next is one step on from z, with gradient and slopes as gathered there. Its equations
// are those of the readings, fewer than the coordinates: with D the prior's precision,
// damped, J the slopes and R the covariance of the readings' errors, the step is
// D⁻¹·(g − Jᵀ·(R + J·D⁻¹·Jᵀ)⁻¹·J·D⁻¹·g).
//
// Source: the identity of M. A. Woodbury (1950), from memory.
func (g *tangent) next(z *[dims]float64, lambda float64) (next [dims]float64, ok bool) {
	k, n := len(g.m.obs), g.n
	g.damp(lambda)
	for a, s := range g.narrow {
		g.step[a] = s * g.grad[a]
	}
	if k > 0 {
		for i := range k {
			scale(g.eased[i*n:i*n+n], g.narrow, g.scaled[i*n:i*n+n])
		}
		slopes := blas64.General{Rows: k, Cols: n, Stride: n, Data: g.eased}
		joint := blas64.Symmetric{Uplo: blas.Lower, N: k, Stride: k, Data: g.joint}
		blas64.Syrk(blas.NoTrans, 1, slopes, 0, joint)
		g.addErrors()
		root, ok := lapack64.Potrf(joint) // mat.Cholesky would estimate the condition too, at each step
		if !ok {
			return next, false
		}
		step, share := blas64.Vector{N: n, Inc: 1, Data: g.step}, blas64.Vector{N: k, Inc: 1, Data: g.share}
		blas64.Gemv(blas.NoTrans, 1, slopes, step, 0, share)
		blas64.Trsv(blas.NoTrans, root, share)
		blas64.Trsv(blas.Trans, root, share)
		blas64.Gemv(blas.Trans, -1, slopes, share, 1, step)
	}
	next = *z
	for i, d := range g.active {
		next[d] = min(max(z[d]-min(max(g.narrow[i]*g.step[i], -1.5), 1.5), -4.5), 4.5)
	}
	return next, true
}

// damp sets how far each coordinate is held back, as the root of the prior's variance
// that is left it: a share lambda of all that is known of it is added to the prior's
// precision of 1.
func (g *tangent) damp(lambda float64) {
	for a := range g.narrow {
		g.narrow[a] = 1
	}
	if lambda == 0 {
		return
	}
	known := g.narrow // the diagonal of the precision
	for i := range g.m.obs {
		for a, x := range g.scaled[i*g.n : i*g.n+g.n] {
			known[a] += x * x
		}
	}
	for k := range g.m.groups {
		for l := range latents {
			for a, x := range g.leaning(k, l) {
				known[a] -= x * x
			}
		}
	}
	for a, x := range known {
		g.narrow[a] = 1 / math.Sqrt(1+lambda*x)
	}
}

// addErrors adds to joint the covariance of the readings' errors, each over its own
// deviation: 1, and what readings of one instrument share.
func (g *tangent) addErrors() {
	n := len(g.m.obs)
	for k := range g.m.groups {
		group, s := &g.m.groups[k], &g.shared[k]
		for p, i := range group.obs {
			for q, j := range group.obs[:p+1] {
				g.joint[i*n+j] += math.Sqrt(g.weight[i]*g.weight[j]) * dot(&s.design[p], &s.design[q])
			}
			g.joint[i*n+i]++
		}
	}
}

// scale sets y to the product of two vectors, element by element.
func scale(y, a, b []float64) {
	for i, x := range a {
		y[i] = x * b[i]
	}
}

// carry takes the slopes along to next, where the evaluator stands, changed as
// little as what has been seen of the way there demands.
//
// Source: C. G. Broyden, Mathematics of Computation 19 (1965) 577–593 (from memory).
func (g *tangent) carry(z, next *[dims]float64) {
	var way [firstError]float64
	var length float64
	for j, d := range g.active {
		way[j] = next[d] - z[d]
		length += way[j] * way[j]
	}
	for i := range g.m.obs {
		k := g.m.obs[i].index
		row := g.jac[i*g.n : (i+1)*g.n]
		missed := g.e.out.Value[k] - g.here.Value[k]
		for j, s := range row {
			missed -= s * way[j]
		}
		for j := range row {
			row[j] += missed * way[j] / length
		}
	}
	g.here, g.exact = g.e.out, false
}

// arrive climbs on to the mode near z, nil if there is none.
func (m *model) arrive(k int, z [dims]float64, chosen [choices]span, e *evaluator) *mode {
	h := &m.hyps[k]
	md := &mode{place: place{z, chosen}, hyp: k, active: m.active(h)}
	g := newTangent(m, h, e, md.active)
	md.cost = g.climb(&z, arriving)
	if m.rechoose(&z, h, &md.chosen, e) {
		md.cost = g.climb(&z, arriving)
	}
	md.z = z
	if math.IsNaN(md.cost) || math.IsInf(md.cost, 0) {
		return nil
	}
	md.open(e)
	if !md.settle(g) {
		return nil
	}
	return md
}

// settle works out what the curvature at the mode says; g is a tangent over its
// active coordinates, whose slopes are taken anew unless they hold there. It fails
// where the curvature is none of a hilltop.
func (md *mode) settle(g *tangent) bool {
	md.cost = g.e.cost(&md.z, g.h, 0)
	if !g.exact {
		g.slopes(&md.z)
	}
	g.gather(&md.z, 0)
	md.prec = g.precision()
	var chol mat.Cholesky
	if !chol.Factorize(md.prec) {
		return false
	}
	md.lnDet = chol.LogDet()
	md.tangent = g
	md.lnZ = g.h.lnPrior - md.cost - 0.5*md.lnDet
	for _, s := range md.chosen {
		md.lnZ += math.Log(s.width())
	}
	return !math.IsNaN(md.lnZ)
}

// open leaves the choices open that make no difference at the mode: its samples
// would be held to a part of what is equally probable.
func (md *mode) open(e *evaluator) {
	h := &e.m.hyps[md.hyp]
	parts := e.m.choiceParts(h)
	here := e.cost(&md.z, h, 0)
	for i, chosen := range md.chosen {
		if chosen == whole {
			continue
		}
		differs := slices.ContainsFunc(parts[i], func(s span) bool {
			z := md.z
			z[firstChoice+i] = s.mid()
			return math.Abs(e.cost(&z, h, 0)-here) > openWithin
		})
		if !differs {
			md.chosen[i] = whole
		}
	}
}

// openWithin is what a choice may cost and still be taken to make no difference [nat].
const openWithin = 0.01

// tangent is the linearised problem at one point.
type tangent struct {
	m      *model
	h      *hypothesis
	e      *evaluator
	active []int
	n      int
	grad   []float64
	here   plant.Out // where the slopes hold
	exact  bool      // slopes taken there, not carried along
	jac    []float64 // one row an observation
	scaled []float64 // the same over the root of each reading's variance
	weight []float64 // of each reading, by how likely it is right
	pull   []float64 // and how far it pulls the plant
	shared []shared  // of each instrument

	// Scratch.
	lean   []float64
	step   []float64
	share  []float64 // of each reading in it
	narrow []float64 // how far each coordinate is held back
	eased  []float64 // slopes of coordinates held back so
	joint  []float64 // of the readings
}

func newTangent(m *model, h *hypothesis, e *evaluator, active []int) *tangent {
	n, k := len(active), len(m.obs)
	return &tangent{
		m: m, h: h, e: e, active: active, n: n,
		grad: make([]float64, n), jac: make([]float64, n*k), scaled: make([]float64, n*k),
		weight: make([]float64, k), pull: make([]float64, k),
		shared: make([]shared, len(m.groups)), lean: make([]float64, n),
		step: make([]float64, n), share: make([]float64, k), narrow: make([]float64, n),
		eased: make([]float64, n*k), joint: make([]float64, k*k),
	}
}

// shared is what the readings of one instrument have in common: its errors.
type shared struct {
	design []vector // of each observation
	root   matrix   // of the covariance of the errors
}

// slopes takes the slope of every reading's value numerically.
func (g *tangent) slopes(z *[dims]float64) {
	const h = 2e-3
	m, e, n := g.m, g.e, g.n
	e.solve(z, g.h)
	g.here, g.exact = e.out, true
	for j, d := range g.active {
		moved := *z
		step := h
		if z[d] > 0 { // toward the middle, where the maps are steep
			step = -h
		}
		moved[d] += step
		if afterwards(d) {
			e.out = g.here
			m.unknowns(&moved, g.h, &e.u)
			m.plant.SolveTests(&e.u, &e.out)
			e.solved++
		} else {
			e.solve(&moved, g.h)
		}
		for i := range m.obs {
			k := m.obs[i].index
			g.jac[i*n+j] = (e.out.Value[k] - g.here.Value[k]) / step
		}
	}
}

// gather works out the gradient at z and scales the slopes, every reading weighed by
// how likely it is right.
func (g *tangent) gather(z *[dims]float64, temper float64) {
	g.e.out = g.here
	g.bind(temper)
	for a, d := range g.active {
		g.grad[a] = z[d]
		if d == dCharge {
			g.grad[a] -= g.m.latchSlope(z)
		}
	}
	for i := range g.m.obs {
		row, scaled := g.jac[i*g.n:i*g.n+g.n], g.scaled[i*g.n:i*g.n+g.n]
		pull, root := g.pull[i], math.Sqrt(g.weight[i])
		for a, x := range row {
			g.grad[a] -= pull * x
			scaled[a] = root * x
		}
	}
}

// precision is the matrix of second derivatives as gathered, the prior's 1 included.
func (g *tangent) precision() *mat.SymDense {
	prec := mat.NewSymDense(g.n, nil)
	for a := range g.n {
		prec.SetSym(a, a, 1)
	}
	for i := range g.m.obs {
		prec.SymRankOne(prec, 1, mat.NewVecDense(g.n, g.scaled[i*g.n:i*g.n+g.n]))
	}
	// Errors that all readings of an instrument share make them say less together.
	for k := range g.m.groups {
		for l := range latents {
			prec.SymRankOne(prec, -1, mat.NewVecDense(g.n, g.leaning(k, l)))
		}
	}
	return prec
}

// bind weighs the readings at the last solution and finds what binds them to
// each other.
func (g *tangent) bind(temper float64) {
	m, e := g.m, g.e
	for k := range m.groups {
		group, s := &m.groups[k], &g.shared[k]
		e.weigh(group, temper)
		f := e.fit()
		prec := matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
		var pull vector
		s.design = s.design[:0]
		for j, i := range group.obs {
			r := &f.readings[j]
			g.weight[i] = 0
			switch {
			case r.floats:
				g.weight[i] = r.density[right] / (r.density[right] + r.density[wrong]) / (r.variance + square(floatLow))
				r.design = vector{}
			case f.trusting:
				g.weight[i] = 1 / r.variance
			case r.way != wrong:
				g.weight[i] = 1 / (1 + r.others()) / r.variance
			}
			gather(&prec, &pull, &r.design, g.weight[i], r.shown()-r.value)
			s.design = append(s.design, r.design)
		}
		cov, _ := invert(&prec)
		s.root = root(&cov)
		errors := times(&cov, &pull)
		for j, i := range group.obs {
			g.pull[i] = g.weight[i] * f.readings[j].residual(&errors)
		}
	}
}

// leaning is what the l-th error of the k-th instrument takes from the precision: with
// U = Σ Jᵀ·w·a over its readings and the covariance L·Lᵀ of its errors, column l of
// U·L.
func (g *tangent) leaning(k, l int) []float64 {
	group, s := &g.m.groups[k], &g.shared[k]
	clear(g.lean)
	column := vector{s.root[0][l], s.root[1][l], s.root[2][l]}
	for j, i := range group.obs {
		if a := math.Sqrt(g.weight[i]) * dot(&s.design[j], &column); a != 0 {
			for b, x := range g.scaled[i*g.n : i*g.n+g.n] {
				g.lean[b] += a * x
			}
		}
	}
	return g.lean
}

// pullOf is how much a change of all readings' values pulls each active
// coordinate: the slopes times the joint weight of the readings.
func (g *tangent) pullOf(change []float64) []float64 {
	pull := make([]float64, g.n)
	for k := range g.m.groups {
		group, s := &g.m.groups[k], &g.shared[k]
		var lean vector
		for j, i := range group.obs {
			for l := range latents {
				lean[l] += g.weight[i] * change[i] * dot(&s.design[j], &vector{s.root[0][l], s.root[1][l], s.root[2][l]})
			}
		}
		for j, i := range group.obs {
			x := change[i]
			for l := range latents {
				x -= lean[l] * dot(&s.design[j], &vector{s.root[0][l], s.root[1][l], s.root[2][l]})
			}
			for b := range g.n {
				pull[b] += g.weight[i] * x * g.jac[i*g.n+b]
			}
		}
	}
	return pull
}

// afterwards reports whether a coordinate acts only on tests made after the
// readings as found.
func afterwards(d int) bool {
	switch d {
	case dLightIsolated, dCellIsolated, dStep, dGravity, dOneMinute, dSurface, dTaken:
		return true
	}
	return false
}
