package belief

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ampwalk/diagnose/plant"
)

// Sizes of the sampling. More samples lower the noise of the evidence by their
// root.
const (
	placed      = 900 // samples from the modes' densities
	free        = 200 // from the prior itself
	walked      = 900 // from walks about the modes
	burnIn      = 40
	thinning    = 6
	hypsWithin  = 14.0 // nats below the best by Laplace, then a hypothesis is left out
	modesWithin = 16.0
	modesMost   = 40
	walksWithin = 9.0
	walksMost   = 16
	negligible  = 25.0 // nats below the heaviest, then a particle is dropped
	outside     = 0.1  // of a mode's samples let each choice go anywhere
	seed        = 0x5eed
)

// scales of a mode's density about its curvature, with their shares: a normal
// core and a heavy tail.
var scales = [...]struct{ scale, share float64 }{{1.0, 0.8}, {1.5, 0.2}}

// A particle is one draw of the unknowns under one hypothesis.
type particle struct {
	z      *[dims]float64
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
func (m *model) cloud(modes []*mode) []particle {
	modes, alive := m.prune(modes)
	sources, zs := m.draw(modes)
	total := len(zs)

	// What every sample is worth under every hypothesis left, and how dense each
	// source is there. A walk's density is the likelihood within its choices,
	// here over a first guess of its norm.
	type weighing struct {
		ln    []float64
		out   []plant.Out
		known float64   // density of all sources but the walks over the prior's
		walks []float64 // of each walk
	}
	row := make(map[int]int, len(alive))
	for i, k := range alive {
		row[k] = i
	}
	var walks []source
	for _, src := range sources {
		if src.walk {
			walks = append(walks, src)
		}
	}
	ws := make([]weighing, total)
	m.share(total, func(e *evaluator, j int) {
		w := weighing{ln: make([]float64, len(alive)), out: make([]plant.Out, len(alive)), walks: make([]float64, len(walks))}
		z := &zs[j]
		for i, k := range alive {
			h := &m.hyps[k]
			e.solve(z, h)
			w.ln[i] = e.logNumbers(z, none) + e.logWords(h)
			if math.IsNaN(w.ln[i]) {
				w.ln[i] = math.Inf(-1)
			}
			w.out[i] = e.out
		}
		for _, src := range sources {
			switch {
			case src.md == nil:
				w.known += src.n
			case !src.walk:
				w.known += src.n * src.md.ratio(z)
			}
		}
		for s, src := range walks {
			if src.md.within(z) {
				w.walks[s] = src.n * math.Exp(min(w.ln[row[src.md.hyp]]-src.lnZ, 300))
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
	var ps []particle
	var sum float64
	for j := range ws {
		for i, k := range alive {
			if ws[j].ln[i] < top-negligible && k != 0 {
				continue
			}
			w := math.Exp(ws[j].ln[i] - top)
			sum += w
			ps = append(ps, particle{z: &zs[j], hyp: k, weight: w, out: ws[j].out[i]})
		}
	}
	for i := range ps {
		ps[i].weight /= sum
	}
	return ps
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
	return kept[:min(len(kept), modesMost)], alive
}

// draw takes the samples of all sources.
func (m *model) draw(modes []*mode) (sources []source, zs [][dims]float64) {
	rng := rand.New(rand.NewPCG(seed, 0))
	sources = append(sources, source{n: free})
	for range free {
		zs = append(zs, fromPrior(rng))
	}
	if len(modes) == 0 {
		return sources, zs
	}
	best := modes[0].lnZ
	// The root spreads samples over the lesser modes too.
	share := make([]float64, len(modes))
	var sum float64
	for i, md := range modes {
		share[i] = math.Exp(0.5 * max(md.lnZ-best, -10))
		sum += share[i]
	}
	for i, md := range modes {
		n := max(6, int(math.Round(share[i]/sum*placed)))
		for range n {
			z := fromPrior(rng)
			md.place(&z, rng)
			zs = append(zs, z)
		}
		sources = append(sources, source{md: md, n: float64(n)})
	}
	walkers := slices.Clone(modes[:min(len(modes), walksMost)])
	walkers = slices.DeleteFunc(walkers, func(md *mode) bool { return md.lnZ < best-walksWithin })
	sum = 0
	for i := range walkers {
		sum += share[i]
	}
	paths := make([][][dims]float64, len(walkers))
	m.share(len(walkers), func(e *evaluator, i int) {
		n := max(20, int(math.Round(share[i]/sum*walked)))
		paths[i] = walkers[i].walk(e, n, rand.New(rand.NewPCG(seed, uint64(i)+1)))
	})
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

// place moves a draw from the prior to the mode's density.
func (md *mode) place(z *[dims]float64, rng *rand.Rand) {
	scale := scales[0].scale
	if rng.Float64() >= scales[0].share {
		scale = scales[1].scale
	}
	md.colour(z)
	for _, d := range md.active {
		z[d] = md.z[d] + scale*z[d]
	}
	for i, s := range md.choices {
		if rng.Float64() > outside {
			z[firstChoice+i] = s.lo + s.width()*z[firstChoice+i]
		}
	}
}

// colour gives the active coordinates of a standard normal draw the mode's
// covariance.
func (md *mode) colour(z *[dims]float64) {
	// prec = Uᵀ·U: U⁻¹ times a standard normal has covariance prec⁻¹.
	if md.upper == nil {
		md.upper = new(mat.TriDense)
		md.chol.UTo(md.upper)
	}
	raw := md.upper.RawTriangular()
	for i := len(md.active) - 1; i >= 0; i-- {
		row := raw.Data[i*raw.Stride:]
		x := z[md.active[i]]
		for j := i + 1; j < len(md.active); j++ {
			x -= row[j] * z[md.active[j]]
		}
		z[md.active[i]] = x / row[i]
	}
}

// walk follows the posterior of the mode's hypothesis within its choices for n
// samples, by steps that leave the mode's normal density unchanged and are
// accepted by what the posterior differs from it.
//
// Source: preconditioned Crank–Nicolson, S. L. Cotter et al., Statistical
// Science 28 (2013) 424–446 (from memory).
func (md *mode) walk(e *evaluator, n int, rng *rand.Rand) [][dims]float64 {
	h := &e.m.hyps[md.hyp]
	z := md.z
	// excess is the log of the posterior over the mode's normal density.
	excess := func(z *[dims]float64) float64 {
		for _, d := range md.active {
			if math.Abs(z[d]) > 6 {
				return math.Inf(-1)
			}
		}
		e.solve(z, h)
		x := e.logNumbers(z, none) + e.logWords(h) + 0.5*md.quad(z)
		for _, d := range md.active {
			x -= 0.5 * z[d] * z[d]
		}
		return x
	}
	now := excess(&z)
	path := make([][dims]float64, 0, n)
	for step := 0; len(path) < n; step++ {
		// Small steps keep going, large ones leave the neighbourhood.
		reach := 0.25
		if step%3 == 0 {
			reach = 0.6
		}
		next := fromPrior(rng)
		md.colour(&next)
		keep := math.Sqrt(1 - reach*reach)
		for _, d := range md.active {
			next[d] = md.z[d] + keep*(z[d]-md.z[d]) + reach*next[d]
		}
		for i, s := range md.choices {
			next[firstChoice+i] = s.lo + s.width()*next[firstChoice+i]
		}
		if x := excess(&next); math.Log(rng.Float64()) < x-now {
			z, now = next, x
		}
		if step >= burnIn && step%thinning == 0 {
			path = append(path, z)
		}
	}
	return path
}

// within reports whether z makes the mode's choices.
func (md *mode) within(z *[dims]float64) bool {
	for i, s := range md.choices {
		if u := z[firstChoice+i]; u < s.lo || u >= s.hi {
			return false
		}
	}
	return true
}

// quad is the squared distance of z from the mode in its own precision.
func (md *mode) quad(z *[dims]float64) float64 {
	var diff [firstChoice]float64
	for i, d := range md.active {
		diff[i] = z[d] - md.z[d]
	}
	raw := md.prec.RawSymmetric()
	n := len(md.active)
	var quad float64
	for i := range n {
		row := raw.Data[i*raw.Stride : i*raw.Stride+n]
		s := 0.5 * row[i] * diff[i]
		for j := i + 1; j < n; j++ {
			s += row[j] * diff[j]
		}
		quad += 2 * s * diff[i]
	}
	return quad
}

// ratio is the mode's density at z over the prior's.
func (md *mode) ratio(z *[dims]float64) float64 {
	ln := 0.5 * md.lnDet
	for i, s := range md.choices {
		in := outside
		if u := z[firstChoice+i]; u >= s.lo && u < s.hi {
			in += (1 - outside) / s.width()
		}
		ln += math.Log(in)
	}
	n := float64(len(md.active))
	for _, d := range md.active {
		ln += 0.5 * z[d] * z[d]
	}
	quad := md.quad(z)
	var p float64
	for _, s := range scales {
		p += s.share * math.Exp(ln-0.5*quad/(s.scale*s.scale)-n*math.Log(s.scale))
	}
	return p
}
