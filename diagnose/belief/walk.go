package belief

import (
	"math"
	"math/rand/v2"
)

const (
	burnIn   = 100
	learning = 300 // steps of a walk that its densities learn from
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
	h := &e.m.hyps[md.hyp]
	posterior := func(z *[dims]float64) float64 {
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
		for _, d := range md.active {
			x -= 0.5 * z[d] * z[d]
		}
		return x
	}
	z := md.z
	e.solve(&z, h)
	md.floor = e.logNumbers(0) + e.logWords(h) - walkDeep - 0.5*float64(len(e.m.obs))
	md.regulating, md.charging = e.out.Regulating, e.out.Charging
	now := posterior(&z)
	u, v := make([]float64, len(md.active)), make([]float64, len(md.active))
	md.frame.into(&z, u)
	sum, squares := make([]float64, len(u)), make([]float64, len(u))
	var moves float64
	path := make([][dims]float64, 0, n)
	for step := 0; len(path) < n; step++ {
		k := strides[step%len(strides)]
		s := &md.shapes[k.shape]
		next := fromPrior(rng)
		s.stride(u, v, k.reach, rng)
		md.frame.out(v, &next)
		for i, c := range md.chosen {
			next[firstChoice+i] = c.lo + c.width()*next[firstChoice+i]
		}
		x := posterior(&next)
		if math.Log(rng.Float64()) < x-now+0.5*(s.quad(v)-s.quad(u)) {
			z, now = next, x
			u, v = v, u
			if step >= burnIn {
				moves++
			}
		}
		switch {
		case step < burnIn:
		case step < burnIn+learning:
			for i, x := range u {
				sum[i] += x
				squares[i] += x * x
			}
		case step == burnIn+learning:
			md.frame.learn(learning, moves, sum, squares)
			md.reshape()
		case step%thinning == 0:
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
