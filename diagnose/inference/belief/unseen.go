package belief

import (
	"math"
	"math/rand/v2"
	"slices"
)

// A second fault may leave the readings as they are: a string that came off is
// not to be seen at night, nor a bad joint where no current flows. Such pairs
// were not searched; what the readings leave of them shows when the fault is
// added to draws from the belief in the first condition alone.
const (
	unseenFrom  = 0.5 // probability of the first condition: before one leads, the rates of single ones stand for all
	unseenDraws = 60
)

// unseen gives every pair of a leading condition with one that has not been
// sampled beside it, as a hypothesis, its part of the evidence: the
// expectation, over the belief in the first, of what adding the second does to
// the likelihood. What a pair gains beyond pairGain the search would have found;
// more than that is the chance of few draws.
func (m *model) unseen(ps []particle, lnEvidence []float64) []float64 {
	singles := m.singles()
	mass := make([]float64, len(m.hyps))
	for i := range ps {
		mass[ps[i].hyp] += ps[i].weight
	}
	first := slices.IndexFunc(mass[:singles], func(x float64) bool { return x >= unseenFrom })
	if first < 1 { // none, or sound
		return lnEvidence
	}
	alone := &m.hyps[first]
	sampled := func(second int) bool {
		for k := singles; k < len(lnEvidence); k++ {
			h := &m.hyps[k]
			if !math.IsInf(lnEvidence[k], -1) && h.has(alone.ids[0]) && h.has(m.hyps[second].ids[0]) {
				return true
			}
		}
		return false
	}
	scale := m.pairScale()
	var pairs []hypothesis
	for k := 1; k < singles; k++ {
		if k != first && !sampled(k) {
			pairs = append(pairs, pairOf(alone, &m.hyps[k], scale))
		}
	}
	own := make([]particle, 0, len(ps))
	for i := range ps {
		if ps[i].hyp == first {
			own = append(own, ps[i])
		}
	}
	zs := draws(own, unseenDraws)
	before := make([]float64, len(zs))
	m.share(len(zs), func(e *evaluator, i int) {
		e.out = zs[i].out
		before[i] = e.logNumbers(0) + e.logWords(alone)
	})
	kept := make([]float64, len(pairs))
	m.share(len(pairs), func(e *evaluator, i int) {
		rng := rand.New(rand.NewPCG(m.seed, uint64(i)))
		for j := range zs {
			z := zs[j].z
			z[dOther], z[dOther2], z[dOtherOption] = rng.NormFloat64(), rng.NormFloat64(), rng.Float64()
			e.solve(&z, &pairs[i])
			kept[i] += math.Exp(min(e.logNumbers(0)+e.logWords(&pairs[i])-before[j], pairGain)) / float64(len(zs))
		}
	})
	for i, h := range pairs {
		m.hyps = append(m.hyps, h)
		lnEvidence = append(lnEvidence, lnEvidence[first]-alone.lnPrior+h.lnPrior+math.Log(kept[i]))
	}
	return lnEvidence
}
