package belief

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// climb finds a mode from a start by damped Gauss–Newton steps, the spreads of
// all readings widened at first and narrowed to their own.
func (m *model) climb(k int, z [dims]float64, chosen [choices]span, giveUp float64, e *evaluator) *mode {
	h := &m.hyps[k]
	active := m.active(h)
	n := len(active)
	g := newTangent(m, h, e, active)
	var chol mat.Cholesky
	step := mat.NewVecDense(n, nil)
	damped := mat.NewSymDense(n, nil)
	for _, t := range []struct {
		temper float64
		steps  int
	}{{startTemper / 9, 3}, {startTemper / 27, 3}, {startTemper / 81, 2}, {0, 8}} {
		cost := e.cost(&z, h, t.temper)
		if t.temper < startTemper/9 && cost > giveUp {
			return nil
		}
		lambda := 0.0
		for range t.steps {
			g.linearise(&z, t.temper)
			moved := false
			for range 5 {
				damped.CopySym(g.prec)
				for i := range n {
					damped.SetSym(i, i, damped.At(i, i)*(1+lambda))
				}
				if !chol.Factorize(damped) {
					lambda = 10*lambda + 1e-3
					continue
				}
				if err := chol.SolveVecTo(step, g.grad); err != nil {
					lambda = 10*lambda + 1e-3
					continue
				}
				next := z
				for i, d := range active {
					next[d] = min(max(z[d]-min(max(step.AtVec(i), -1.5), 1.5), -4.5), 4.5)
				}
				c := e.cost(&next, h, t.temper)
				if c < cost {
					moved = cost-c > 1e-3
					z, cost = next, c
					lambda /= 10
					break
				}
				lambda = 10*lambda + 1e-2
			}
			if !moved {
				break
			}
		}
	}
	md := &mode{hyp: k, z: z, chosen: chosen, active: active}
	md.cost = e.cost(&z, h, 0)
	if math.IsNaN(md.cost) || math.IsInf(md.cost, 0) {
		return nil
	}
	g.linearise(&z, 0)
	md.prec = g.prec
	if !chol.Factorize(g.prec) {
		return nil
	}
	md.lnDet = chol.LogDet()
	md.lnZ = h.lnPrior - md.cost - 0.5*md.lnDet
	for _, s := range chosen {
		md.lnZ += math.Log(s.width())
	}
	return md
}

// tangent is the linearised problem at one point.
type tangent struct {
	m      *model
	h      *hypothesis
	e      *evaluator
	active []int
	n      int
	prec   *mat.SymDense
	grad   *mat.VecDense
	jac    []float64 // one row an observation
	weight []float64 // of each reading, by how likely it is right
	pull   []float64 // and how far it pulls the plant
	shared []shared  // of each instrument
	lean   []float64 // scratch
}

func newTangent(m *model, h *hypothesis, e *evaluator, active []int) *tangent {
	n := len(active)
	return &tangent{
		m: m, h: h, e: e, active: active, n: n,
		prec: mat.NewSymDense(n, nil), grad: mat.NewVecDense(n, nil), jac: make([]float64, n*len(m.obs)),
		weight: make([]float64, len(m.obs)), pull: make([]float64, len(m.obs)),
		shared: make([]shared, len(m.groups)), lean: make([]float64, n),
	}
}

// shared is what the readings of one instrument have in common: its errors.
type shared struct {
	design []vector // of each observation
	root   matrix   // of the covariance of the errors
}

// linearise works out gradient and precision at z: numeric slopes of every
// reading's value, weighed by how likely each reading is right.
func (g *tangent) linearise(z *[dims]float64, temper float64) {
	const h = 2e-3
	m, e, n := g.m, g.e, g.n
	e.solve(z, g.h)
	here := e.out
	g.bind(temper)
	for j, d := range g.active {
		moved := *z
		step := h
		if z[d] > 0 { // toward the middle, where the maps are steep
			step = -h
		}
		moved[d] += step
		if afterwards(d) {
			e.out = here
			m.unknowns(&moved, g.h, &e.u)
			m.plant.SolveTests(&e.u, &e.out)
		} else {
			e.solve(&moved, g.h)
		}
		for i := range m.obs {
			k := m.obs[i].index
			g.jac[i*n+j] = (e.out.Value[k] - here.Value[k]) / step
		}
	}
	for a := range n {
		s := z[g.active[a]]
		for i := range m.obs {
			s -= g.pull[i] * g.jac[i*n+a]
		}
		g.grad.SetVec(a, s)
		for b := a; b < n; b++ {
			var s float64
			if a == b {
				s = 1
			}
			for i := range m.obs {
				s += g.weight[i] * g.jac[i*n+a] * g.jac[i*n+b]
			}
			g.prec.SetSym(a, b, s)
		}
	}
	// Errors that all readings of an instrument share make them say less together.
	for k := range m.groups {
		for l := range latents {
			g.loosen(&m.groups[k], &g.shared[k], l)
		}
	}
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

// loosen takes from the precision what the l-th error of an instrument leaves
// open: with U = Σ Jᵀ·w·a over its readings and the covariance L·Lᵀ of its
// errors, the l-th part of U·L·Lᵀ·Uᵀ.
func (g *tangent) loosen(group *meterGroup, s *shared, l int) {
	n := g.n
	lean := g.lean
	clear(lean)
	column := vector{s.root[0][l], s.root[1][l], s.root[2][l]}
	for j, i := range group.obs {
		if a := g.weight[i] * dot(&s.design[j], &column); a != 0 {
			for b := range n {
				lean[b] += a * g.jac[i*n+b]
			}
		}
	}
	for a := range n {
		for b := a; b < n; b++ {
			g.prec.SetSym(a, b, g.prec.At(a, b)-lean[a]*lean[b])
		}
	}
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
	case dLightIsolated, dCellIsolated, dStep, dGravity, dOneMinute, dSurface:
		return true
	}
	return false
}
