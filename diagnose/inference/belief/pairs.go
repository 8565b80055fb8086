package belief

import (
	"math"
	"slices"

	"ampwalk/diagnose/physics/condition"
)

// Two conditions at once. All pairs of a site's conditions are weighed; searched
// are those whose second condition explains what the first alone does not. A
// pair without that stands within the belief in its first: the second is not
// to be seen.
const (
	pairShare  = 0.08 // of all visits that find two conditions (judgement)
	pairFirst  = 4    // single conditions that are built on
	pairOthers = 2    // and so many with other choices
	pairTried  = 10   // pairs that are searched
	pairWithin = 18   // nats that a pair may start behind the best single
	pairFar    = 40   // nats that the second may lose before all else gives way to it
	pairReach  = 12   // and once some of it has
	pairIdle   = 0.02 // nats that show no difference at all
	pairGain   = 0.5  // nats that both must explain beyond either
)

// pairTempers widen the readings while a second condition is tried: what it
// explains may be volts or millivolts.
var pairTempers = [...]float64{startTemper / 9, startTemper / 27, startTemper / 81}

// pairScale is the log of the factor from the product of two priors to the
// prior of the pair, so that all pairs together have pairShare.
func (m *model) pairScale() float64 {
	var sum, squares float64
	for _, h := range m.hyps[1:m.singles()] {
		p := math.Exp(h.lnPrior)
		sum += p
		squares += p * p
	}
	return math.Log(pairShare / ((sum*sum - squares) / 2))
}

// singles is how many hypotheses there are of no more than one condition; they
// come first.
func (m *model) singles() int {
	n := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return len(h.ids) == 2 })
	if n < 0 {
		return len(m.hyps)
	}
	return n
}

// pairStages are how far all else gives way before a pair is judged.
var pairStages = []stage{{startTemper / 9, 2}, {startTemper / 27, 1}}

// A seed is a pair with the point that its search begins at.
type seed struct {
	first, second int // hypotheses of one condition each, first < second
	z             [dims]float64
	chosen        [choices]span
	gain          float64 // of the second condition, at the best
	score         float64 // what evidence and prior come to with it
}

// pairs adds the pairs worth a search to the hypotheses and finds their modes.
// found holds the modes of every single hypothesis.
func (m *model) pairs(found [][]*mode) [][]*mode {
	singles := m.singles()
	// Of each condition the best mode, and the best with other choices: where a second
	// condition is at work, the first alone may stand on a choice that the pair does not.
	var best, others []*mode
	for k := range singles {
		modes := slices.Clone(found[k])
		slices.SortStableFunc(modes, func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
		if len(modes) == 0 {
			continue
		}
		best = append(best, modes[0])
		if i := slices.IndexFunc(modes, func(md *mode) bool { return md.chosen != modes[0].chosen }); i > 0 {
			others = append(others, modes[i])
		}
	}
	if len(best) == 0 {
		return found
	}
	top := func(modes []*mode, bar float64, most int) []*mode {
		slices.SortStableFunc(modes, func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
		modes = slices.DeleteFunc(modes, func(md *mode) bool { return md.hyp == 0 || md.lnZ < bar })
		return modes[:min(len(modes), most)]
	}
	bar := slices.MaxFunc(best, func(a, b *mode) int { return compare(a.lnZ, b.lnZ) }).lnZ - pairWithin
	best = append(top(best, bar, pairFirst), top(others, bar, pairOthers)...)

	scale := m.pairScale()
	seeds := make([]seed, len(best)*(singles-1))
	m.share(len(seeds), func(e *evaluator, i int) {
		md, k := best[i/(singles-1)], 1+i%(singles-1)
		if k == md.hyp {
			seeds[i] = seed{gain: math.Inf(-1), score: math.Inf(-1)}
			return
		}
		seeds[i] = m.join(md, k, scale, e)
	})
	slices.SortStableFunc(seeds, func(a, b seed) int { return -compare(a.score, b.score) })
	var chosen []seed
	for _, s := range seeds {
		if len(chosen) == pairTried || s.score < bar {
			break
		}
		if s.gain < -pairReach || math.Abs(s.gain) < pairIdle {
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
		if md := m.nearAndArrive(singles+i, place{s.z, s.chosen}, e); md != nil {
			more[i] = append(more[i], md)
		}
	})
	m.part(found, slices.Concat(more...))
	for i, s := range chosen {
		more[i] = slices.DeleteFunc(more[i], func(md *mode) bool {
			return m.evidence(md) < pairGain+max(m.most(found[s.first]), m.most(found[s.second]))
		})
	}
	return append(found, more...)
}

// part lets each condition of a pair try the pair's point alone: on the way
// there all else may have given way to what it explains by itself.
func (m *model) part(found [][]*mode, pairs []*mode) {
	better := make([]*mode, 2*len(pairs))
	m.share(len(better), func(e *evaluator, i int) {
		md := pairs[i/2]
		s := md.place
		k := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return slices.Equal(h.ids, m.hyps[md.hyp].ids[i%2:][:1]) })
		if i%2 == 1 {
			s.z[dSeverity], s.z[dSeverity2] = s.z[dOther], s.z[dOther2]
			s.z[dOption], s.chosen[dOption-firstChoice] = s.z[dOtherOption], s.chosen[dOtherOption-firstChoice]
		}
		s.z[dOther], s.z[dOther2], s.chosen[dOtherOption-firstChoice] = 0, 0, whole
		own := math.Inf(1)
		for _, have := range found[k] {
			own = min(own, e.cost(&have.z, &m.hyps[k], exchangeTemper))
		}
		if e.cost(&s.z, &m.hyps[k], exchangeTemper) < own-exchangeGain {
			better[i] = m.nearAndArrive(k, s, e)
		}
	})
	m.add(found, better)
}

// evidence is a mode's by Laplace's approximation, without its prior.
func (m *model) evidence(md *mode) float64 { return md.lnZ - m.hyps[md.hyp].lnPrior }

// most is the greatest evidence of one hypothesis's modes.
func (m *model) most(modes []*mode) float64 {
	x := math.Inf(-1)
	for _, md := range modes {
		x = max(x, m.evidence(md))
	}
	return x
}

func pairOf(a, b *hypothesis, scale float64) hypothesis {
	return hypothesis{
		ids:     []condition.ID{a.ids[0], b.ids[0]},
		options: [][]float64{a.options[0], b.options[0]},
		lnPrior: a.lnPrior + b.lnPrior + scale,
	}
}

// join tries single hypothesis k beside the one of mode md and gives the best point to
// start from. What else may give way to the newcomer
// does so by one step.
func (m *model) join(md *mode, k int, scale float64, e *evaluator) seed {
	s := seed{first: min(md.hyp, k), second: max(md.hyp, k), gain: math.Inf(-1)}
	h := pairOf(&m.hyps[s.first], &m.hyps[s.second], scale)
	var alone [len(pairTempers)]float64
	first := &m.hyps[md.hyp]
	e.out = md.tangent.here
	for i, t := range pairTempers {
		alone[i] = e.costHere(&md.z, first, t)
	}
	joined := newTangent(m, &h, e, slices.Clone(md.active))
	z, c := md.z, md.chosen
	severity, option := dOther, dOtherOption
	if k == s.first { // the newcomer takes the first place
		severity, option = dSeverity, dOption
		z[dOther], z[dOther2] = z[dSeverity], z[dSeverity2]
		z[dOtherOption], c[dOtherOption-firstChoice] = z[dOption], c[dOption-firstChoice]
		for i, d := range joined.active {
			switch d {
			case dSeverity:
				joined.active[i] = dOther
			case dSeverity2:
				joined.active[i] = dOther2
			}
		}
	}
	// try gives what a point at the last solution gains in the best temper.
	try := func(z *[dims]float64) float64 {
		best := math.Inf(-1)
		for i, t := range pairTempers {
			best = max(best, alone[i]-e.costHere(z, &h, t)+0.5*z[severity]*z[severity])
		}
		if best > s.gain {
			s.gain, s.z, s.chosen = best, *z, c
		}
		return best
	}
	for _, part := range spans(m.hyps[k].options[0]) {
		c[option-firstChoice], z[option] = part, part.mid()
		for _, x := range [...]float64{-1.2, 0, 1.2} {
			z[severity] = x
			e.solve(&z, &h)
			if gain := try(&z); math.Abs(gain) < pairIdle || gain < -pairFar {
				continue
			}
			next := z
			joined.adopt(md.tangent)
			joined.here = e.out
			joined.follow(&next, pairStages, false)
			e.out = joined.here
			try(&next)
		}
	}
	s.score = md.lnZ - m.hyps[md.hyp].lnPrior + h.lnPrior + s.gain
	return s
}
