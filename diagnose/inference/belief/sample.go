package belief

import (
	"math"
	"math/rand/v2"
	"slices"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/plant"
)

// Sizes of the sampling. More samples lower the noise of the evidence by their
// root.
const (
	free        = 800   // samples from the prior itself
	piloted     = 4_000 // from the densities of all modes, over two more than the readings: fewer leave more open, and cost less each
	placed      = 8_000 // from those of the hypotheses that matter, likewise
	hypsWithin  = 10.0  // nats below the best by Laplace, then a hypothesis is left out
	modesWithin = 11.0
	modesMost   = 20
	walksWithin = 9.0
	walksMost   = 8
	alikeWithin = 0.02
	negligible  = 1e-5 // share of a hypothesis, below which it gets no particles

	// What the first samples leave a hypothesis to be looked at more closely: so
	// many nats below the best, or so much of its probability in doubt.
	closelyWithin = 3
	closelyDoubt  = 0.01

	// More are drawn where a probability is still so much in doubt, so many times.
	enoughKnown = 0.025
	roundsMost  = 4

	particlesEach = 100  // of a hypothesis, at the least
	particlesMore = 1500 // and by its share

	// A sample that carries so much of a probability shows where too few are drawn: it
	// becomes a mode itself, so many a round.
	reachFrom = 0.008
	reachMost = 6

	firstSeed = 0x5eed
)

// A particle is one draw of the unknowns under one hypothesis.
type particle struct {
	z      [dims]float64
	hyp    int
	weight float64 // posterior, all together 1
	out    plant.Out
}

// A sampling is one set of samples from a mixture: the prior and the modes' normal
// densities. Each sample is weighed under many hypotheses, so that those that the
// readings cannot tell apart keep exactly their prior ratio.
//
// First samples from all modes are weighed under all hypotheses; more are drawn
// and weighed only for those that turn out to matter, from densities that have
// learnt, and where samples turn out to be too few.
//
// Sources: E. Veach, L. J. Guibas, "Optimally combining sampling techniques",
// SIGGRAPH 1995 (the mixture as proposal); J.-M. Cornuet, J.-M. Marin, A. Mira,
// C. P. Robert, "Adaptive multiple importance sampling", Scandinavian Journal of
// Statistics 39 (2012) 798–812 (densities added in rounds); both from memory.
type sampling struct {
	m     *model
	modes []*mode
	from  []float64 // samples drawn from each mode's density
	done  []bool    // modes that draw no more
	zs    [][dims]float64
	under [][]float64 // log likelihood of each sample under each hypothesis, where it was weighed
	ratio [][]float64 // density of each mode over the prior's
	mix   []float64   // density of the mixture over the prior's
}

// cloud samples the posterior about its modes. Besides the particles it gives
// the log of prior times evidence of every hypothesis, −Inf where it was left out.
func (m *model) cloud(modes []*mode) (ps []particle, lnEvidence []float64) {
	s := &sampling{m: m}
	var alive []int
	s.modes, alive = m.prune(modes)
	m.share(len(s.modes), func(e *evaluator, i int) { s.modes[i].ready(e) })
	s.modes = slices.DeleteFunc(s.modes, func(md *mode) bool { return md.frame == nil })
	s.from, s.done = make([]float64, len(s.modes)), make([]bool, len(s.modes))

	rng := rand.New(rand.NewPCG(m.seed, 0))
	for range free {
		z := fromPrior(rng)
		pickDoubt(freeDoubts[:], rng).move(&z)
		s.zs = append(s.zs, z)
	}
	s.place(piloted, alive, nil)
	s.weigh(0, alive)
	s.blend()
	first := len(s.zs)
	pilot := s.worth(alive, first)

	closely, errors := closer(pilot)
	if m.fineness >= 1 {
		s.beads(closely)
		s.walk(closely)
	}
	var final []worth
	for range roundsMost {
		s.place(placed, closely, errors)
		s.weigh(first, closely)
		s.blend()
		first = len(s.zs)
		final = s.worth(closely, first)
		if inDoubt(final) < enoughKnown {
			break
		}
		for i := range final {
			errors[final[i].hyp] = math.Sqrt(final[i].squares)
		}
		s.reach(final)
	}

	// What was weighed under the first samples only follows the one of the others
	// that it is most like, as far as it is like it: errors that both share go out.
	for _, w := range pilot {
		if !slices.Contains(closely, w.hyp) {
			final = append(final, w.follow(pilot, final))
		}
	}
	return m.particles(s.zs, final)
}

// place draws about n samples, over two more than the readings, from the
// densities of the modes of some hypotheses.
func (s *sampling) place(n float64, hyps []int, errors map[int]float64) {
	share := s.shares(hyps, errors)
	first := len(s.zs)
	ends := []int{first} // of each mode's samples
	for i, x := range share {
		count := 0
		if x > 0 {
			count = max(5, int(x*s.m.fineness*n/float64(2+len(s.m.obs))))
		}
		s.from[i] += float64(count)
		ends = append(ends, ends[i]+count)
	}
	all := ends[len(s.modes)]
	s.zs = slices.Grow(s.zs, all-first)[:all]
	s.m.share(len(s.modes), func(_ *evaluator, i int) {
		rng := rand.New(rand.NewPCG(s.m.seed+uint64(first), uint64(i))) // a stream of its own for every call
		for j := ends[i]; j < ends[i+1]; j++ {
			s.zs[j] = fromPrior(rng)
			s.modes[i].move(&s.zs[j], rng)
		}
	})
}

// shares are those of the modes that draw for some hypotheses, all together 1. Among
// the modes of one hypothesis, as among hypotheses that nothing is known of, the root of
// the evidence spreads samples over the lesser ones too; where errors are known, a
// hypothesis gets its part by its own.
//
// Source: J. Neyman's allocation, Journal of the Royal Statistical Society 97
// (1934) 558–625 (from memory).
func (s *sampling) shares(hyps []int, errors map[int]float64) []float64 {
	share, as := make([]float64, len(s.modes)), make([]*mode, len(s.modes))
	best := math.Inf(-1)
	for i, md := range s.modes {
		if s.done[i] {
			continue
		}
		if as[i] = md.as(hyps); as[i] != nil {
			best = max(best, as[i].lnZ)
		}
	}
	sums := map[int]float64{}
	for i, md := range as {
		if md != nil {
			share[i] = fastmath.Exp(0.5 * max(md.lnZ-best, -10))
			sums[md.hyp] += share[i]
		}
	}
	var sum float64
	for i, md := range as {
		if md != nil {
			if errors != nil {
				share[i] *= errors[md.hyp] / sums[md.hyp]
			}
			sum += share[i]
		}
	}
	for i := range share {
		if sum > 0 {
			share[i] /= sum
		}
	}
	return share
}

// as is the best mode of some hypotheses that md draws for, nil if there is none.
func (md *mode) as(hyps []int) *mode {
	var best *mode
	for _, like := range append([]*mode{md}, md.alike...) {
		if slices.Contains(hyps, like.hyp) && (best == nil || like.lnZ > best.lnZ) {
			best = like
		}
	}
	return best
}

// A leading mode is one that draws for some hypotheses: its place in the sampling,
// and what it is there for.
type leading struct {
	mode int
	as   *mode
}

// best are the modes of most evidence for some hypotheses, the best first.
func (s *sampling) best(hyps []int, most int) []leading {
	var list []leading
	for i, md := range s.modes {
		if as := md.as(hyps); as != nil {
			list = append(list, leading{i, as})
		}
	}
	slices.SortStableFunc(list, func(a, b leading) int { return -compare(a.as.lnZ, b.as.lnZ) })
	return list[:min(len(list), most)]
}

// include adds modes to draw from.
func (s *sampling) include(more []*mode) {
	for _, md := range more {
		if md != nil {
			s.modes, s.from, s.done = append(s.modes, md), append(s.from, 0), append(s.done, false)
		}
	}
}

// reach adds modes at the samples that carry most of what is in doubt: where one weighs
// much, the densities are thin.
func (s *sampling) reach(ws []worth) {
	type heavy struct {
		sample, hyp int
		part        float64 // of its hypothesis's probability
		all         float64 // of all
	}
	var sum float64
	for i := range ws {
		sum += ws[i].mass
	}
	var heavies []heavy
	for i := range ws {
		w := &ws[i]
		share := w.mass / sum
		for j, ln := range w.ln {
			if x := fastmath.Exp(ln-w.top) / sum; x*(1-share) > reachFrom {
				heavies = append(heavies, heavy{j, w.hyp, x / share, x})
			}
		}
	}
	slices.SortStableFunc(heavies, func(a, b heavy) int { return -compare(a.all, b.all) })
	heavies = heavies[:min(len(heavies), reachMost)]
	more := make([]*mode, len(heavies))
	s.m.share(len(more), func(e *evaluator, i int) {
		more[i] = s.m.at(&s.zs[heavies[i].sample], heavies[i].hyp, e)
	})
	for i, md := range more {
		if md == nil {
			continue
		}
		// Laplace's approximation is of hilltops: what it stands for is the sample's part.
		best := math.Inf(-1)
		for k, have := range s.modes {
			if like := have.as([]int{md.hyp}); like != nil && !s.done[k] {
				best = max(best, like.lnZ)
			}
		}
		if !math.IsInf(best, -1) {
			md.lnZ = best + fastmath.Log(heavies[i].part)
		}
	}
	s.include(more)
}

// at is a mode of hypothesis k about z, which need be no hilltop.
func (m *model) at(z *[dims]float64, k int, e *evaluator) *mode {
	h := &m.hyps[k]
	md := &mode{place: place{z: *z}, hyp: k, active: m.active(h)}
	for i, parts := range m.choiceParts(h) {
		c := slices.IndexFunc(parts, func(p span) bool { return z[firstChoice+i] < p.hi })
		md.chosen[i] = parts[max(c, 0)]
	}
	md.open(e)
	if !md.settle(newTangent(m, h, e, md.active)) || !md.ready(e) {
		return nil
	}
	return md
}

// weigh weighs the samples from the first-th on under some hypotheses.
func (s *sampling) weigh(first int, hyps []int) {
	m := s.m
	s.under = append(s.under, make([][]float64, len(s.zs)-first)...)
	all := make([]float64, len(m.hyps)*(len(s.zs)-first))
	m.share(len(s.zs)-first, func(e *evaluator, j int) {
		under := all[j*len(m.hyps) : (j+1)*len(m.hyps)]
		j += first
		z := &s.zs[j]
		if astray(z) {
			for k := range under {
				under[k] = math.Inf(-1)
			}
			s.under[j] = under
			return
		}
		var base plant.Unknowns
		m.base(z, &base)
		latch := m.lnLatch(z) // the densities of the mixture are over a prior without it
		for _, k := range hyps {
			h := &m.hyps[k]
			e.u = base
			m.disturb(z, h, &e.u)
			e.settle()
			ln := e.logNumbers(0) + e.logWords(h) + latch
			if math.IsNaN(ln) || math.IsInf(ln, 1) {
				ln = math.Inf(-1)
			}
			under[k] = ln
		}
		s.under[j] = under
	})
}

// astray reports whether z is further out than the prior ever is: a wide density
// about a bent valley may send a sample there, where the plant's solution and
// the densities lose their meaning.
func astray(z *[dims]float64) bool {
	return slices.ContainsFunc(z[:firstError], func(x float64) bool { return math.Abs(x) > 7 })
}

// blend works the density of the mixture out.
func (s *sampling) blend() {
	s.ratio = append(s.ratio, make([][]float64, len(s.zs)-len(s.ratio))...)
	s.mix = make([]float64, len(s.zs))
	s.m.share(len(s.zs), func(_ *evaluator, j int) {
		s.ratio[j] = slices.Grow(s.ratio[j], len(s.modes)-len(s.ratio[j]))
		for _, md := range s.modes[len(s.ratio[j]):] {
			s.ratio[j] = append(s.ratio[j], md.ratio(&s.zs[j]))
		}
		s.mix[j] = free * doubted(freeDoubts[:], &s.zs[j])
		for i, r := range s.ratio[j] {
			s.mix[j] += s.from[i] * r
		}
	})
}

// A worth is what samples say of one hypothesis.
type worth struct {
	hyp     int
	lnPrior float64
	ln      []float64 // log weight of each sample
	mass    float64   // their sum and that of their squares, over exp(top) and its square
	squares float64
	top     float64
}

// worth of some hypotheses by the first n samples.
func (s *sampling) worth(hyps []int, n int) []worth {
	ws := make([]worth, len(hyps))
	lnMix := make([]float64, n)
	for j := range lnMix {
		lnMix[j] = fastmath.Log(s.mix[j])
	}
	top := math.Inf(-1)
	for i, k := range hyps {
		w := worth{hyp: k, lnPrior: s.m.hyps[k].lnPrior, ln: make([]float64, n)}
		for j := range n {
			w.ln[j] = s.under[j][k] - lnMix[j]
			top = max(top, w.ln[j]+w.lnPrior)
		}
		ws[i] = w
	}
	for i := range ws {
		w := &ws[i]
		w.top = top - w.lnPrior
		for _, ln := range w.ln {
			x := fastmath.Exp(ln - w.top)
			w.mass += x
			w.squares += x * x
		}
	}
	return ws
}

// inDoubt is the greatest standard error of a hypothesis's probability.
func inDoubt(ws []worth) float64 {
	var all, most float64
	for i := range ws {
		all += ws[i].mass
	}
	for i := range ws {
		w := &ws[i]
		share := w.mass / all
		most = max(most, (1-share)*math.Sqrt(w.squares)/all)
	}
	return most
}

// closer picks the hypotheses that matter enough to be looked at closely, with
// what is in doubt of each.
func closer(ws []worth) (hyps []int, errors map[int]float64) {
	var all, most float64
	for i := range ws {
		all += ws[i].mass
		most = max(most, ws[i].mass)
	}
	errors = map[int]float64{}
	for i := range ws {
		w := &ws[i]
		if w.mass >= most*fastmath.Exp(-closelyWithin) || math.Sqrt(w.squares) > closelyDoubt*all {
			hyps = append(hyps, w.hyp)
			errors[w.hyp] = math.Sqrt(w.squares)
		}
	}
	return hyps, errors
}

// prune leaves out what Laplace's approximation puts far below the best; sound
// stays, to compare with.
func (m *model) prune(modes []*mode) (kept []*mode, alive []int) {
	kept = slices.Clone(modes)
	slices.SortStableFunc(kept, func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
	near := make([]bool, len(m.hyps))
	near[0] = true
	for _, md := range kept {
		if md.lnZ > kept[0].lnZ-hypsWithin {
			near[md.hyp] = true
		}
	}
	for k, n := range near {
		if n {
			alive = append(alive, k)
		}
	}
	if len(kept) > 0 {
		best := kept[0].lnZ
		kept = slices.DeleteFunc(kept, func(md *mode) bool {
			return md.lnZ < best-modesWithin && md.hyp != 0 || !near[md.hyp]
		})
	}
	// Where a condition does not act, its mode is that of another hypothesis:
	// one of them draws for both.
	var apart []*mode
	for _, md := range kept {
		if i := slices.IndexFunc(apart, func(have *mode) bool {
			return math.Abs(have.cost-md.cost) < alikeWithin && have.covers(&md.place)
		}); i >= 0 {
			apart[i].alike = append(apart[i].alike, md)
		} else {
			apart = append(apart, md)
		}
	}
	return apart[:min(len(apart), modesMost)], alive
}
