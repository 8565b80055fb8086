package belief

import (
	"math"
	"math/rand/v2"
	"slices"
)

const (
	burnIn   = 40
	learning = 200 // steps of a walk that its densities learn from
	walkDeep = 7.0 // nats below the mode, beyond half a nat a reading, that a walk goes
)

// walk follows the posterior of the mode's hypothesis within its choices and regime, by
// steps that leave one of the mode's normal densities unchanged and are accepted by what
// the posterior differs from it. The mode's densities learn from where it went.
//
// Source: preconditioned Crank–Nicolson, S. L. Cotter et al., Statistical
// Science 28 (2013) 424–446 (from memory).
func (md *mode) walk(e *evaluator, rng *rand.Rand) {
	h, f := &e.m.hyps[md.hyp], md.frame
	z := md.z
	e.solve(&z, h)
	lnL := e.logNumbers(0) + e.logWords(h)
	floor := lnL - walkDeep - 0.5*float64(len(e.m.obs))
	regulating, charging := e.out.Regulating, e.out.Charging
	// Across a change of regime, or where a reading is taken for wrong, the steps would
	// not lead back.
	likelihood := func(z *[dims]float64) float64 {
		for _, d := range md.active {
			if math.Abs(z[d]) > 6 {
				return math.Inf(-1)
			}
		}
		e.solve(z, h)
		x := e.logNumbers(0) + e.logWords(h)
		if x < floor || e.out.Regulating != regulating || e.out.Charging != charging {
			return math.Inf(-1)
		}
		return x
	}
	axes := len(f.add)
	y, u := f.along(&z, make([]float64, axes)), make([]float64, axes) // components, and in the frame
	f.into(&z, y, u)
	yNext, uNext, step := make([]float64, axes), make([]float64, axes), make([]float64, axes)
	sum, squares := make([]float64, axes), make([]float64, axes)
	var moves float64
	for i := range burnIn + learning {
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
		if i >= burnIn {
			for i, x := range u {
				sum[i] += x
				squares[i] += x * x
			}
		}
	}
	f.learn(learning, moves, sum, squares)
	md.reshape()
}

// strides are the steps of a walk in turn: small ones keep going, large ones
// leave the neighbourhood, those of a wider density find what lies beyond it.
var strides = [...]struct {
	shape int
	reach float64
}{{0, 0.3}, {1, 0.5}, {0, 0.8}, {2, 0.25}}

// walk walks about the best modes of some hypotheses; the densities that are
// learnt so take the place of those that the walks began with.
func (s *sampling) walk(hyps []int) {
	best := s.best(hyps, walksMost)
	best = slices.DeleteFunc(best, func(l leading) bool { return l.as.lnZ < best[0].as.lnZ-walksWithin })
	learned := make([]*mode, len(best))
	s.m.share(len(best), func(e *evaluator, k int) {
		if md := best[k].as.copied(e); md != nil {
			md.walk(e, rand.New(rand.NewPCG(s.m.seed, uint64(k)+1)))
			learned[k] = md
		}
	})
	s.include(learned)
	for k, md := range learned {
		if md != nil {
			s.done[best[k].mode] = true
		}
	}
}
