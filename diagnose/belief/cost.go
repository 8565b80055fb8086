package belief

import (
	"math"

	"ampwalk/diagnose/plant"
)

// An evaluator solves the plant at coordinates under a hypothesis.
type evaluator struct {
	m   *model
	u   plant.Unknowns
	out plant.Out
	p   []float64
}

func (e *evaluator) solve(z *[dims]float64, h *hypothesis) {
	e.m.unknowns(z, h, &e.u)
	e.m.plant.Solve(&e.u, &e.out)
}

// logWords is the log-likelihood of the words at the last solution.
func (e *evaluator) logWords(h *hypothesis) float64 {
	var s float64
	for i := range e.m.words {
		w := &e.m.words[i]
		e.p = e.m.chances(w, h, &e.out, e.p)
		s += math.Log(e.p[w.choice])
	}
	return s
}

// A widening eases a search: every spread is widened by temper times the
// reading's span, and one clamp, if any, is supposed to be turned round.
type widening struct {
	temper float64
	turned int // index of an observation, −1: none
}

// none is the likelihood as it is.
var none = widening{turned: -1}

// shown is the value that observation i is taken to show.
func (w widening) shown(i int, o *observation) float64 {
	if i == w.turned {
		return -o.y
	}
	return o.y
}

// logNumbers is the log-likelihood of the numbers at the last solution.
func (e *evaluator) logNumbers(z *[dims]float64, w widening) float64 {
	var s float64
	product := 1.0
	for i := range e.m.obs {
		o := &e.m.obs[i]
		p, _, _ := e.m.likelihood(o, w.shown(i, o), z, &e.out, w.temper*o.span)
		if product *= p; product < 1e-200 || product > 1e200 {
			s += math.Log(product)
			product = 1
		}
	}
	s += math.Log(product)
	if w.turned >= 0 {
		s += math.Log(turnChance)
	}
	return s
}

func (e *evaluator) cost(z *[dims]float64, h *hypothesis, w widening) float64 {
	e.solve(z, h)
	return e.costHere(z, h, w)
}

// costHere is the cost at the last solution.
func (e *evaluator) costHere(z *[dims]float64, h *hypothesis, w widening) float64 {
	c := -e.logNumbers(z, w) - e.logWords(h)
	for _, x := range z[:firstChoice] {
		c += 0.5 * x * x
	}
	return c
}
