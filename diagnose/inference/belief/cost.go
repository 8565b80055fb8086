package belief

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/plant"
)

// An evaluator solves the plant at coordinates under a hypothesis.
type evaluator struct {
	m   *model
	u   plant.Unknowns
	out plant.Out
	p   []float64

	solved int64  // plants
	fits   [2]fit // of the last instrument weighed, with its zero set and not set
	unset  float64
	plain  []plain // readings of the last one

	trusting bool // every reading is taken for right
}

func (e *evaluator) solve(z *[dims]float64, h *hypothesis) {
	e.m.unknowns(z, h, &e.u)
	e.settle()
}

// settle solves the plant for the evaluator's unknowns.
func (e *evaluator) settle() {
	e.m.plant.Solve(&e.u, &e.out)
	e.solved++
}

// logWords is the log-likelihood of the words at the last solution.
func (e *evaluator) logWords(h *hypothesis) float64 {
	var s float64
	if e.idle(h) {
		s = lnIdle
	}
	for i := range e.m.words {
		w := &e.m.words[i]
		e.p = e.m.chances(w, h, &e.out, e.p)
		s += fastmath.Log(e.p[w.choice])
	}
	return s
}

// logNumbers is the log-likelihood of the numbers at the last solution, every
// spread widened by temper times the reading's span: that eases a search.
func (e *evaluator) logNumbers(temper float64) float64 {
	var s float64
	for i := range e.m.groups {
		s += e.logOf(&e.m.groups[i], temper)
	}
	return s
}

// roughly is logNumbers with an instrument's errors as if each reading had its own: where
// the readings are widened beyond them, about the same, and sooner done.
func (e *evaluator) roughly(temper float64) float64 {
	var s float64
	for i := range e.m.obs {
		o := &e.m.obs[i]
		v := e.out.Value[o.index]
		variance := e.m.variance(o, &e.out) + square(temper*o.span)
		if e.out.Floats[o.index] {
			variance += square(o.floatHigh)
		}
		sd := math.Sqrt(variance)
		p := o.chances[right]*gauss(o.y-v, sd) + o.chances[wrong]/o.span
		if o.flips {
			p += o.chances[turned] * gauss(o.y+v, sd)
		}
		s += fastmath.Log(p)
	}
	return s
}

func (e *evaluator) cost(z *[dims]float64, h *hypothesis, temper float64) float64 {
	e.solve(z, h)
	return e.costHere(z, h, temper)
}

// costHere is the cost at the last solution.
func (e *evaluator) costHere(z *[dims]float64, h *hypothesis, temper float64) float64 {
	return -e.logNumbers(temper) - e.logWords(h) + e.m.rarity(z)
}

// rarity is minus the log of the prior's density at z over that at its middle.
func (m *model) rarity(z *[dims]float64) float64 {
	c := -m.lnLatch(z)
	for _, x := range z[:firstError] {
		c += 0.5 * x * x
	}
	return c
}
