package belief

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// climb finds a mode from a start by damped Gauss–Newton steps, the spreads of
// all readings widened at first and narrowed to their own.
func (m *model) climb(k int, z [dims]float64, choices [dims - firstChoice]span, turned int, giveUp float64, e *evaluator) *mode {
	h := &m.hyps[k]
	zeroed := choices[dUnzeroed-firstChoice].lo < 1-unzeroedShare
	active := m.active(h, zeroed)
	n := len(active)
	g := &tangent{m: m, h: h, e: e, active: active, n: n,
		prec: mat.NewSymDense(n, nil), grad: mat.NewVecDense(n, nil), jac: make([]float64, n*len(m.obs))}
	var chol mat.Cholesky
	step := mat.NewVecDense(n, nil)
	damped := mat.NewSymDense(n, nil)
	for _, t := range []struct {
		temper float64
		steps  int
	}{{startTemper / 9, 3}, {startTemper / 27, 3}, {startTemper / 81, 2}, {0, 8}} {
		w := widening{t.temper, turned}
		if t.temper == 0 {
			w = none
		}
		cost := e.cost(&z, h, w)
		if t.temper < startTemper/9 && cost > giveUp {
			return nil
		}
		lambda := 0.0
		for range t.steps {
			g.linearise(&z, w)
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
				c := e.cost(&next, h, w)
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
	md := &mode{hyp: k, z: z, choices: choices, active: active}
	md.cost = e.cost(&z, h, none)
	if math.IsNaN(md.cost) || math.IsInf(md.cost, 0) {
		return nil
	}
	g.linearise(&z, none)
	md.prec = g.prec
	if !chol.Factorize(g.prec) {
		return nil
	}
	md.lnDet = chol.LogDet()
	md.lnZ = h.lnPrior - md.cost - 0.5*md.lnDet
	for _, s := range choices {
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
	base   []float64
	weight []float64 // of each reading, by how likely it is right
	pull   []float64 // and how far it pulls its prediction
}

// linearise works out gradient and precision at z: numeric slopes of every
// prediction, weighed by how likely each reading is right.
func (g *tangent) linearise(z *[dims]float64, w widening) {
	const h = 2e-3
	m, e, n := g.m, g.e, g.n
	e.solve(z, g.h)
	g.base, g.weight, g.pull = g.base[:0], g.weight[:0], g.pull[:0]
	here := e.out
	for i := range m.obs {
		o := &m.obs[i]
		p := m.predict(o, z, &here)
		y := w.shown(i, o)
		sd := math.Hypot(m.spread(o, &here), w.temper*o.span)
		_, right, turned := m.likelihood(o, y, z, &here, w.temper*o.span)
		g.base = append(g.base, p)
		g.weight = append(g.weight, (right+turned)/(sd*sd))
		// What a clamp that is likely turned round shows counts the other way.
		g.pull = append(g.pull, (right*(y-p)-turned*(y+p))/(sd*sd))
	}
	for j, d := range g.active {
		moved := *z
		step := h
		if z[d] > 0 { // toward the middle, where the maps are steep
			step = -h
		}
		moved[d] += step
		out := &here
		switch {
		case instrumental(d):
		case afterwards(d):
			e.out = here
			m.unknowns(&moved, g.h, &e.u)
			m.plant.SolveTests(&e.u, &e.out)
			out = &e.out
		default:
			e.solve(&moved, g.h)
			out = &e.out
		}
		for i := range m.obs {
			g.jac[i*n+j] = (m.predict(&m.obs[i], &moved, out) - g.base[i]) / step
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
}

// instrumental reports whether a coordinate acts on what an instrument shows
// and not on the plant.
func instrumental(d int) bool { return d >= dVoltGain && d < firstChoice }

// afterwards reports whether a coordinate acts only on tests made after the
// readings as found.
func afterwards(d int) bool {
	switch d {
	case dLightIsolated, dCellIsolated, dStep, dGravity, dOneMinute, dSurface:
		return true
	}
	return false
}
