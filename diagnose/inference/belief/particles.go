package belief

import (
	"math"
	"math/rand/v2"
	"slices"
)

// follow corrects what the first samples say of a hypothesis by what they say
// of another and all samples say of that: of those looked at closely, the one
// that it is most like. Where the readings cannot tell the two apart, their
// ratio comes out exact.
//
// Source: control variates, J. M. Hammersley, D. C. Handscomb, Monte Carlo
// Methods (1964), ch. 5 (from memory).
func (w worth) follow(pilot, final []worth) worth {
	like, slope := 0.0, 0.0
	var before, after float64 // of the other one's mass
	for i := range final {
		r := &pilot[slices.IndexFunc(pilot, func(p worth) bool { return p.hyp == final[i].hyp })]
		var product float64
		for j, ln := range w.ln {
			product += math.Exp(ln - w.top + r.ln[j] - r.top)
		}
		if l := product / math.Sqrt(w.squares*r.squares); l > like {
			like, slope = l, product/r.squares
			before, after = r.mass, final[i].mass*math.Exp(final[i].top-r.top)
		}
	}
	mass := w.mass + slope*(after-before)
	if !(mass > 0) {
		return w
	}
	shift := math.Log(mass / w.mass)
	w.ln = slices.Clone(w.ln)
	for j := range w.ln {
		w.ln[j] += shift
	}
	w.mass = mass
	return w
}

// particles makes draws of the posterior from what samples are worth, and gives
// the log of prior times evidence of every hypothesis, −Inf where ws has none.
func (m *model) particles(zs [][dims]float64, ws []worth) (ps []particle, lnEvidence []float64) {
	lnEvidence = slices.Repeat([]float64{math.Inf(-1)}, len(m.hyps))
	for i := range ws {
		w := &ws[i]
		lnEvidence[w.hyp] = math.Log(w.mass) + w.top + w.lnPrior
	}
	top := slices.Max(lnEvidence)
	var all float64
	for _, ln := range lnEvidence {
		all += math.Exp(ln - top)
	}
	type kept struct {
		sample, hyp int
		weight      float64
	}
	var keep []kept
	slices.SortFunc(ws, func(a, b worth) int { return a.hyp - b.hyp })
	for i := range ws {
		w := &ws[i]
		share := math.Exp(lnEvidence[w.hyp]-top) / all
		if share < negligible && w.hyp != 0 {
			continue
		}
		// Light samples are thinned: one in so many stands for all of them.
		least := share / (particlesEach + particlesMore*share)
		var saved float64
		for j, ln := range w.ln {
			x := math.Exp(ln+w.lnPrior-top) / all
			if x < least {
				if saved += x; saved < least {
					continue
				}
				saved -= least
				x = least
			}
			keep = append(keep, kept{j, w.hyp, x})
		}
	}
	ps = make([]particle, len(keep))
	m.share(len(ps), func(e *evaluator, i int) {
		p := &ps[i]
		p.z, p.hyp, p.weight = zs[keep[i].sample], keep[i].hyp, keep[i].weight
		e.solve(&p.z, &m.hyps[p.hyp])
		p.out = e.out
		rng := rand.New(rand.NewPCG(m.seed, uint64(i)))
		for g := range m.groups {
			e.errors(&m.groups[g], &p.z, rng)
		}
	})
	return ps, lnEvidence
}
