package belief

import (
	"math"
	"math/rand/v2"
)

const (
	burnIn   = 40
	learning = 200 // steps of a walk that its densities learn from
	thinning = 5
	walkDeep = 7.0 // nats below the mode, beyond half a nat a reading, that a walk goes
)

// walk follows the posterior of the mode's hypothesis within its choices and
// regime for n samples, by steps that leave one of the mode's normal densities unchanged and are
// accepted by what the posterior differs from it.
//
// Source: preconditioned Crank–Nicolson, S. L. Cotter et al., Statistical
// Science 28 (2013) 424–446 (from memory).
func (md *mode) walk(e *evaluator, n int, rng *rand.Rand) [][dims]float64 {
	h, f := &e.m.hyps[md.hyp], md.frame
	likelihood := func(z *[dims]float64) float64 {
		for _, d := range md.active {
			if math.Abs(z[d]) > 6 {
				return math.Inf(-1)
			}
		}
		e.solve(z, h)
		x := e.logNumbers(0) + e.logWords(h)
		if !md.reaches(x, e.out.Regulating, e.out.Charging) {
			return math.Inf(-1)
		}
		return x
	}
	z := md.z
	e.solve(&z, h)
	md.floor = e.logNumbers(0) + e.logWords(h) - walkDeep - 0.5*float64(len(e.m.obs))
	md.regulating, md.charging = e.out.Regulating, e.out.Charging
	lnL := likelihood(&z)
	axes := len(f.add)
	y, u := f.along(&z, make([]float64, axes)), make([]float64, axes) // components, and in the frame
	f.into(&z, y, u)
	yNext, uNext, step := make([]float64, axes), make([]float64, axes), make([]float64, axes)
	sum, squares := make([]float64, axes), make([]float64, axes)
	var moves float64
	path := make([][dims]float64, 0, n)
	for i := 0; len(path) < n; i++ {
		k := strides[i%len(strides)]
		s := &md.shapes[k.shape]
		keep := math.Sqrt(1 - k.reach*k.reach)
		next := fromPrior(rng)
		f.along(&next, step)
		for _, d := range md.active {
			next[d] = keep*z[d] + k.reach*next[d]
		}
		for a, x := range step {
			yNext[a] = keep*y[a] + k.reach*x
			uNext[a] = s.centre[a] + keep*(u[a]-s.centre[a]) + k.reach*x/s.root[a]
		}
		f.out(&next, yNext, uNext)
		for i, c := range md.chosen {
			next[firstChoice+i] = c.lo + c.width()*next[firstChoice+i]
		}
		x := likelihood(&next)
		prior := 0.5 * (inner(y, y) - inner(yNext, yNext)) // the rest of it is kept by the step
		if math.Log(rng.Float64()) < x-lnL+prior+0.5*(s.quad(uNext)-s.quad(u)) {
			z, lnL = next, x
			y, yNext, u, uNext = yNext, y, uNext, u
			if i >= burnIn {
				moves++
			}
		}
		switch {
		case i < burnIn:
		case i < burnIn+learning:
			for i, x := range u {
				sum[i] += x
				squares[i] += x * x
			}
		case i == burnIn+learning:
			f.learn(learning, moves, sum, squares)
			md.reshape()
		case i%thinning == 0:
			path = append(path, z)
		}
	}
	return path
}

// strides are the steps of a walk in turn: small ones keep going, large ones
// leave the neighbourhood, those of a wider density find what lies beyond it.
var strides = [...]struct {
	shape int
	reach float64
}{{0, 0.3}, {1, 0.5}, {0, 0.8}, {2, 0.25}}

// reaches reports whether a walk goes where the likelihood is lnL, in a regime.
// Across a change of regime, or where a reading is taken for
// wrong, its steps would not lead back.
func (md *mode) reaches(lnL float64, regulating, charging bool) bool {
	return lnL >= md.floor && regulating == md.regulating && charging == md.charging
}
