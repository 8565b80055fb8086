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

// unseen gives every pair of a likely condition with one that has not been
// sampled beside it, as a hypothesis, its part of the evidence: the
// expectation, over the belief in the first, of what adding the second does to
// the likelihood. What a pair gains beyond pairGain the search would have found;
// more than that is the chance of few draws.
func (m *model) unseen(ps []particle, lnEvidence []float64) []float64 {
	singles := m.singles()
	by := make([][]particle, singles)
	mass := make([]float64, singles)
	for i := range ps {
		if k := ps[i].hyp; k < singles {
			by[k] = append(by[k], ps[i])
			mass[k] += ps[i].weight
		}
	}
	sampled := func(a, b int) bool {
		for k := singles; k < len(lnEvidence); k++ {
			h := &m.hyps[k]
			if !math.IsInf(lnEvidence[k], -1) && h.has(m.hyps[a].ids[0]) && h.has(m.hyps[b].ids[0]) {
				return true
			}
		}
		return false
	}
	scale := m.pairScale()
	type pair struct{ first, second int }
	var pairs []pair
	for a := 1; a < singles; a++ {
		if mass[a] < unseenFrom {
			continue
		}
		for b := 1; b < singles; b++ {
			if a != b && !sampled(a, b) && !slices.Contains(pairs, pair{b, a}) {
				pairs = append(pairs, pair{a, b})
			}
		}
	}
	kept := make([]float64, len(pairs))
	m.share(len(pairs), func(e *evaluator, i int) {
		p := pairs[i]
		alone := &m.hyps[p.first]
		both := pairOf(alone, &m.hyps[p.second], scale)
		rng := rand.New(rand.NewPCG(firstSeed, uint64(i)))
		d := draws(by[p.first], unseenDraws)
		for _, one := range d {
			z := one.z
			e.solve(&z, alone)
			before := e.logNumbers(0) + e.logWords(alone)
			z[dOther], z[dOther2], z[dOtherOption] = rng.NormFloat64(), rng.NormFloat64(), rng.Float64()
			e.solve(&z, &both)
			kept[i] += math.Exp(min(e.logNumbers(0)+e.logWords(&both)-before, pairGain)) / float64(len(d))
		}
	})
	for i, p := range pairs {
		h := pairOf(&m.hyps[p.first], &m.hyps[p.second], scale)
		m.hyps = append(m.hyps, h)
		lnEvidence = append(lnEvidence, lnEvidence[p.first]-m.hyps[p.first].lnPrior+h.lnPrior+math.Log(kept[i]))
	}
	return lnEvidence
}
