package belief

import (
	"math"
	"math/rand/v2"
	"slices"

	"ampwalk/diagnose/plant"
)

// Sizes of the sampling. More samples lower the noise of the evidence by their
// root.
const (
	placed      = 20_000 // samples from the modes' densities, over two more than the readings: fewer leave more open, and cost less each
	free        = 200    // from the prior itself
	walked      = 900    // from walks about the modes
	burnIn      = 100
	learning    = 300 // steps of a walk that its densities learn from
	thinning    = 8
	hypsWithin  = 10.0 // nats below the best by Laplace, then a hypothesis is left out
	modesWithin = 11.0
	modesMost   = 40
	walksWithin = 9.0
	alikeWithin = 0.02
	walkDeep    = 7.0 // nats below the mode, beyond half a nat a reading, that a walk goes
	walksMost   = 16
	negligible  = 1e-5 // share of a hypothesis, below which it gets no particles

	particlesEach = 250  // of a hypothesis, at the least
	particlesMore = 2500 // and by its share

	firstSeed = 0x5eed
	outside   = 0.1 // of a mode's samples let each choice go anywhere
)

// widths of a mode's densities: the readings widened by so much, with the share
// of samples. The widest reach round corners that the curvature at the mode
// knows nothing of, without leaving what the prior allows.
var widths = [...]struct{ width, share float64 }{{1, 0.4}, {1.7, 0.2}, {5, 0.2}, {20, 0.2}}

// A particle is one draw of the unknowns under one hypothesis.
type particle struct {
	z      [dims]float64
	hyp    int
	weight float64 // posterior, all together 1
	out    plant.Out
}

// A source is a part of the mixture that the samples come from: the prior, a
// mode's normal density, or a walk that follows the posterior about a mode,
// whose norm is not known beforehand.
type source struct {
	md   *mode // nil: the prior
	walk bool
	n    float64 // samples drawn from it
	lnZ  float64 // of a walk: first guess of the log of its norm
}

// cloud draws one set of samples from the mixture of all sources and weighs
// each under every hypothesis, so that hypotheses that the readings cannot tell
// apart keep exactly their prior ratio. The norms of the walks follow from the
// samples themselves.
//
// Sources: E. Veach, L. J. Guibas, "Optimally combining sampling techniques",
// SIGGRAPH 1995 (the mixture as proposal); M. R. Shirts, J. D. Chodera,
// "Statistically optimal analysis of samples from multiple equilibrium states",
// J. Chem. Phys. 129 (2008) 124105 (the norms); both from memory.
//
// Besides the particles it gives the log of prior times evidence of every
// hypothesis, −Inf where it was left out.
func (m *model) cloud(modes []*mode) (ps []particle, lnEvidence []float64) {
	modes, alive := m.prune(modes)
	sources, zs := m.draw(modes)
	total := len(zs)

	// What every sample is worth under every hypothesis left, and how dense each
	// source is there. A walk's density is the likelihood within its choices,
	// here over a first guess of its norm.
	type weighing struct {
		ln    []float64
		known float64   // density of all sources but the walks over the prior's
		walks []float64 // of each walk
	}
	var walks []source
	for _, src := range sources {
		if src.walk {
			walks = append(walks, src)
		}
	}
	ws := make([]weighing, total)
	m.share(total, func(e *evaluator, j int) {
		w := weighing{ln: make([]float64, len(alive)), walks: make([]float64, len(walks))}
		z := &zs[j]
		for i, k := range alive {
			h := &m.hyps[k]
			e.solve(z, h)
			w.ln[i] = e.logNumbers(0) + e.logWords(h)
			if math.IsNaN(w.ln[i]) {
				w.ln[i] = math.Inf(-1)
			}
			for s, src := range walks {
				if src.md.hyp == k && src.md.within(z) && src.md.reaches(w.ln[i], &e.out) {
					w.walks[s] = src.n * math.Exp(min(w.ln[i]-src.lnZ, 300))
				}
			}
		}
		for _, src := range sources {
			switch {
			case src.md == nil:
				w.known += src.n
			case !src.walk:
				w.known += src.n * src.md.ratio(z)
			}
		}
		ws[j] = w
	})

	// The norms of the walks, to consistency.
	mix := make([]float64, total)
	norm := slices.Repeat([]float64{1}, len(walks))
	for range 200 {
		next := make([]float64, len(walks))
		for j := range ws {
			mix[j] = ws[j].known
			for s, x := range ws[j].walks {
				mix[j] += x / norm[s]
			}
			for s, x := range ws[j].walks {
				next[s] += x / walks[s].n / mix[j]
			}
		}
		change := 0.0
		for s := range norm {
			change = max(change, math.Abs(next[s]/norm[s]-1))
		}
		norm = next
		if change < 1e-4 {
			break
		}
	}

	top := math.Inf(-1)
	for j := range ws {
		for i, k := range alive {
			ws[j].ln[i] += m.hyps[k].lnPrior - math.Log(mix[j])
			top = max(top, ws[j].ln[i])
		}
	}
	lnEvidence = slices.Repeat([]float64{math.Inf(-1)}, len(m.hyps))
	mass := make([]float64, len(alive))
	var all float64
	for i, k := range alive {
		for j := range ws {
			mass[i] += math.Exp(ws[j].ln[i] - top)
		}
		lnEvidence[k] = math.Log(mass[i]) + top
		all += mass[i]
	}
	for i, k := range alive {
		// Light samples are thinned: one in so many stands for all of them.
		share := mass[i] / all
		if share < negligible && k != 0 {
			continue
		}
		least := share / (particlesEach + particlesMore*share)
		var saved float64
		for j := range ws {
			w := math.Exp(ws[j].ln[i]-top) / all
			if w < least {
				if saved += w; saved < least {
					continue
				}
				saved -= least
				w = least
			}
			ps = append(ps, particle{z: zs[j], hyp: k, weight: w})
		}
	}
	m.share(len(ps), func(e *evaluator, i int) {
		p := &ps[i]
		e.solve(&p.z, &m.hyps[p.hyp])
		p.out = e.out
		rng := rand.New(rand.NewPCG(firstSeed, uint64(i)))
		for g := range m.groups {
			e.errors(&m.groups[g], &p.z, rng)
		}
	})
	return ps, lnEvidence
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
		if !slices.ContainsFunc(apart, func(have *mode) bool {
			return math.Abs(have.cost-md.cost) < alikeWithin && have.covers(md)
		}) {
			apart = append(apart, md)
		}
	}
	return apart[:min(len(apart), modesMost)], alive
}

// draw takes the samples of all sources.
func (m *model) draw(modes []*mode) (sources []source, zs [][dims]float64) {
	rng := rand.New(rand.NewPCG(firstSeed, 0))
	sources = append(sources, source{n: free})
	for range free {
		zs = append(zs, fromPrior(rng))
	}
	if len(modes) == 0 {
		return sources, zs
	}
	ready := make([]bool, len(modes))
	m.share(len(modes), func(e *evaluator, i int) { ready[i] = modes[i].ready(e) })
	best := modes[0].lnZ
	// The root spreads samples over the lesser modes too.
	share := make([]float64, len(modes))
	var sum float64
	for i, md := range modes {
		share[i] = math.Exp(0.5 * max(md.lnZ-best, -10))
		sum += share[i]
	}
	walkers := slices.Clone(modes[:min(len(modes), walksMost)])
	walkers = slices.DeleteFunc(walkers, func(md *mode) bool { return md.lnZ < best-walksWithin })
	var walking float64
	for i := range walkers {
		walking += share[i]
	}
	paths := make([][][dims]float64, len(walkers))
	m.share(len(walkers), func(e *evaluator, i int) {
		n := max(20, int(math.Round(share[i]/walking*walked)))
		paths[i] = walkers[i].walk(e, n, rand.New(rand.NewPCG(firstSeed, uint64(i)+1)))
	})
	for i, md := range modes {
		if !ready[i] {
			continue
		}
		n := max(10, int(share[i]/sum*placed/float64(2+len(m.obs))))
		for range n {
			z := fromPrior(rng)
			md.place(&z, rng)
			zs = append(zs, z)
		}
		sources = append(sources, source{md: md, n: float64(n)})
	}
	for i, md := range walkers {
		zs = append(zs, paths[i]...)
		sources = append(sources, source{md: md, walk: true, n: float64(len(paths[i])), lnZ: md.lnZ - m.hyps[md.hyp].lnPrior})
	}
	return sources, zs
}

func fromPrior(rng *rand.Rand) (z [dims]float64) {
	for d := range firstChoice {
		z[d] = rng.NormFloat64()
	}
	for d := firstChoice; d < dims; d++ {
		z[d] = rng.Float64()
	}
	return z
}

// ready works out the densities of all widths.
func (md *mode) ready(e *evaluator) bool {
	md.frame = md.newFrame(e)
	if md.frame == nil {
		return false
	}
	md.reshape()
	return true
}

func (md *mode) reshape() {
	md.shapes = md.shapes[:0]
	for _, w := range widths {
		md.shapes = append(md.shapes, md.frame.shape(w.width))
	}
}

// place moves a draw from the prior to the mode's density.
func (md *mode) place(z *[dims]float64, rng *rand.Rand) {
	pick := rng.Float64()
	k := 0
	for k < len(md.shapes)-1 && pick >= widths[k].share {
		pick -= widths[k].share
		k++
	}
	u := make([]float64, len(md.active))
	for i, d := range md.active {
		u[i] = z[d]
	}
	md.shapes[k].draw(u)
	md.frame.out(u, z)
	for i, s := range md.chosen {
		if rng.Float64() > outside {
			z[firstChoice+i] = s.lo + s.width()*z[firstChoice+i]
		}
	}
}

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
		if !md.reaches(x, &e.out) {
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

// reaches reports whether a walk goes where the likelihood is lnL and the plant
// stands as in out. Across a change of regime, or where a reading is taken for
// wrong, its steps would not lead back.
func (md *mode) reaches(lnL float64, out *plant.Out) bool {
	return lnL >= md.floor && out.Regulating == md.regulating && out.Charging == md.charging
}

// within reports whether z makes the mode's choices.
func (md *mode) within(z *[dims]float64) bool {
	for i, s := range md.chosen {
		if u := z[firstChoice+i]; u < s.lo || u >= s.hi {
			return false
		}
	}
	return true
}

// ratio is the mode's density at z over the prior's.
func (md *mode) ratio(z *[dims]float64) float64 {
	var ln float64
	for i, s := range md.chosen {
		in := outside
		if u := z[firstChoice+i]; u >= s.lo && u < s.hi {
			in += (1 - outside) / s.width()
		}
		ln += math.Log(in)
	}
	for _, d := range md.active {
		ln += 0.5 * z[d] * z[d]
	}
	var u [firstError]float64
	md.frame.into(z, u[:len(md.active)])
	var p float64
	for k := range md.shapes {
		s := &md.shapes[k]
		p += widths[k].share * math.Exp(ln+0.5*(s.lnDet-s.quad(u[:len(md.active)])))
	}
	return p
}
