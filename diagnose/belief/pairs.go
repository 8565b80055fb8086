package belief

import (
	"math"
	"slices"

	"ampwalk/diagnose/condition"
)

// Two conditions at once. All pairs of a site's conditions are weighed; searched
// are those whose second condition explains what the first alone does not. A
// pair without that stands within the belief in its first: the second is not
// to be seen.
const (
	pairShare  = 0.08 // of all visits that find two conditions (judgement)
	pairFirst  = 8    // single conditions that are built on
	pairTried  = 12   // pairs that are searched
	pairWithin = 18   // nats that a pair may start behind the best single
	pairGain   = 3    // nats that the second must gain at once
)

// pairTemper widens the readings while a second condition is tried.
const pairTemper = startTemper / 9

// pairScale is the log of the factor from the product of two priors to the
// prior of the pair, so that all pairs together have pairShare.
func (m *model) pairScale() float64 {
	var sum, squares float64
	for _, h := range m.hyps[1:] {
		p := math.Exp(h.lnPrior)
		sum += p
		squares += p * p
	}
	return math.Log(pairShare / ((sum*sum - squares) / 2))
}

// A seed is a pair with the point that its search begins at.
type seed struct {
	first, second int // hypotheses of one condition each, first < second
	z             [dims]float64
	chosen        [choices]span
	score         float64 // cost and prior
	gain          float64 // of the second condition
}

// pairs adds the pairs worth a search to the hypotheses and finds their modes.
// found holds the modes of every single hypothesis.
func (m *model) pairs(found [][]*mode) [][]*mode {
	singles := len(m.hyps)
	var best []*mode
	for k := range singles {
		if len(found[k]) > 0 {
			best = append(best, slices.MaxFunc(found[k], func(a, b *mode) int { return compare(a.lnZ, b.lnZ) }))
		}
	}
	slices.SortStableFunc(best, func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
	if len(best) == 0 {
		return found
	}
	bar := (&evaluator{m: m}).cost(&best[0].z, &m.hyps[best[0].hyp], pairTemper) - m.hyps[best[0].hyp].lnPrior
	best = slices.DeleteFunc(best, func(md *mode) bool { return md.hyp == 0 })
	best = best[:min(len(best), pairFirst)]

	scale := m.pairScale()
	tried := make([][]seed, len(best))
	m.share(len(best), func(e *evaluator, i int) {
		for k := 1; k < singles; k++ {
			if k != best[i].hyp {
				tried[i] = append(tried[i], m.join(best[i], k, scale, e))
			}
		}
	})
	seeds := slices.Concat(tried...)
	slices.SortStableFunc(seeds, func(a, b seed) int { return compare(a.score, b.score) })
	var chosen []seed
	for _, s := range seeds {
		if len(chosen) == pairTried || s.score > bar+pairWithin {
			break
		}
		if s.gain < pairGain {
			continue
		}
		if !slices.ContainsFunc(chosen, func(c seed) bool { return c.first == s.first && c.second == s.second }) {
			chosen = append(chosen, s)
		}
	}
	for _, s := range chosen {
		a, b := &m.hyps[s.first], &m.hyps[s.second]
		m.hyps = append(m.hyps, pairOf(a, b, scale))
	}
	more := make([][]*mode, len(chosen))
	m.share(len(chosen), func(e *evaluator, i int) {
		s := &chosen[i]
		if md := m.climb(singles+i, s.z, s.chosen, math.Inf(1), e); md != nil {
			more[i] = append(more[i], md)
		}
	})
	return append(found, more...)
}

func pairOf(a, b *hypothesis, scale float64) hypothesis {
	return hypothesis{
		ids:     []condition.ID{a.ids[0], b.ids[0]},
		options: [][]float64{a.options[0], b.options[0]},
		lnPrior: a.lnPrior + b.lnPrior + scale,
	}
}

// join tries single hypothesis k beside the one of mode md and gives the best
// point to start from.
func (m *model) join(md *mode, k int, scale float64, e *evaluator) seed {
	s := seed{first: min(md.hyp, k), second: max(md.hyp, k), score: math.Inf(1)}
	h := pairOf(&m.hyps[s.first], &m.hyps[s.second], scale)
	alone := e.cost(&md.z, &m.hyps[md.hyp], pairTemper)
	z, c := md.z, md.chosen
	severity, option := dOther, dOtherOption
	if k == s.first { // the newcomer takes the first place
		severity, option = dSeverity, dOption
		z[dOther], z[dOther2] = z[dSeverity], z[dSeverity2]
		z[dOtherOption], c[dOtherOption-firstChoice] = z[dOption], c[dOption-firstChoice]
	}
	for _, part := range spans(m.hyps[k].options[0]) {
		c[option-firstChoice], z[option] = part, part.mid()
		for _, x := range [...]float64{-1.2, 0, 1.2} {
			z[severity] = x
			cost := e.cost(&z, &h, pairTemper) - 0.5*x*x
			if cost-h.lnPrior < s.score {
				s.score, s.gain, s.z, s.chosen = cost-h.lnPrior, alone-cost, z, c
			}
		}
	}
	return s
}
