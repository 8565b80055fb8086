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
	samples     = 2200
	priorShare  = 0.10 // of the samples drawn from the prior itself
	hypsWithin  = 14.0 // nats below the best by Laplace, then a hypothesis is left out
	modesWithin = 16.0
	modesMost   = 48
	negligible  = 25.0 // nats below the heaviest, then a particle is dropped
	outside     = 0.1  // of a mode's samples let each choice go anywhere
)

// scales of a mode's density about its curvature, with their shares: a normal
// core and a heavy tail.
var scales = [...]struct{ scale, share float64 }{{1.05, 0.75}, {1.7, 0.25}}

// A particle is one draw of the unknowns under one hypothesis.
type particle struct {
	z      *[dims]float64
	hyp    int
	weight float64 // posterior, all together 1
	out    plant.Out
}

// cloud draws one set of samples from the mixture of all modes and the prior,
// and weighs each under every hypothesis (multiple importance sampling with the
// mixture as proposal), so that hypotheses that the readings cannot tell apart
// keep exactly their prior ratio.
//
// Source: E. Veach, L. J. Guibas, "Optimally combining sampling techniques",
// SIGGRAPH 1995 (the balance heuristic; from memory).
func (m *model) cloud(modes []*mode) []particle {
	best := math.Inf(-1)
	for _, md := range modes {
		best = max(best, md.lnZ)
	}
	slices.SortStableFunc(modes, func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
	kept := map[int]bool{0: true} // sound stays, to compare with
	for _, md := range modes {
		if md.lnZ > best-hypsWithin {
			kept[md.hyp] = true
		}
	}
	modes = slices.DeleteFunc(slices.Clone(modes), func(md *mode) bool { return md.lnZ < best-modesWithin && md.hyp != 0 })
	if len(modes) > modesMost {
		modes = modes[:modesMost]
	}
	share := make([]float64, len(modes))
	var sum float64
	for i, md := range modes {
		// The root spreads samples over the lesser modes too.
		share[i] = math.Exp(0.5 * max(md.lnZ-best, -12))
		sum += share[i]
	}
	for i := range share {
		share[i] *= (1 - priorShare) / sum
	}
	rng := rand.New(rand.NewPCG(0x5eed, 0xa3b1))
	zs := make([][dims]float64, 0, samples)
	draw := func(md *mode, count int) {
		for range count {
			var z [dims]float64
			for d := range firstChoice {
				z[d] = rng.NormFloat64()
			}
			for d := firstChoice; d < dims; d++ {
				z[d] = rng.Float64()
			}
			if md != nil {
				md.place(&z, rng)
			}
			zs = append(zs, z)
		}
	}
	counts := make([]float64, len(modes))
	for i, md := range modes {
		n := max(4, int(math.Round(share[i]*samples)))
		draw(md, n)
		counts[i] = float64(n)
	}
	free := int(math.Round(priorShare * samples))
	draw(nil, free)

	total := float64(len(zs))
	var alive []int
	for k := range m.hyps {
		if kept[k] {
			alive = append(alive, k)
		}
	}
	weighed := make([][]particle, len(zs))
	m.share(len(zs), func(e *evaluator, i int) {
		z := &zs[i]
		q := float64(free) / total // density of the mixture over that of the prior
		for k, md := range modes {
			q += counts[k] / total * md.ratio(z)
		}
		lnQ := math.Log(q)
		for _, k := range alive {
			h := &m.hyps[k]
			e.solve(z, h)
			ln := h.lnPrior + e.logNumbers(z, 0) + e.logWords(h) - lnQ
			if !math.IsNaN(ln) {
				weighed[i] = append(weighed[i], particle{z: z, hyp: k, weight: ln, out: e.out})
			}
		}
	})
	top := math.Inf(-1)
	for _, w := range weighed {
		for i := range w {
			top = max(top, w[i].weight)
		}
	}
	var ps []particle
	for _, w := range weighed {
		for i := range w {
			if w[i].weight > top-negligible || w[i].hyp == 0 {
				ps = append(ps, w[i])
			}
		}
	}
	sum = 0
	for i := range ps {
		ps[i].weight = math.Exp(ps[i].weight - top)
		sum += ps[i].weight
	}
	for i := range ps {
		ps[i].weight /= sum
	}
	return ps
}

// place moves a draw from the prior to the mode's density.
func (md *mode) place(z *[dims]float64, rng *rand.Rand) {
	scale := scales[0].scale
	if rng.Float64() >= scales[0].share {
		scale = scales[1].scale
	}
	n := len(md.active)
	x := mat.NewVecDense(n, nil)
	for i, d := range md.active {
		x.SetVec(i, z[d])
	}
	// prec = Uᵀ·U: U⁻¹ times a standard normal has covariance prec⁻¹.
	var u mat.TriDense
	md.chol.UTo(&u)
	for i := n - 1; i >= 0; i-- {
		s := x.AtVec(i)
		for j := i + 1; j < n; j++ {
			s -= u.At(i, j) * x.AtVec(j)
		}
		x.SetVec(i, s/u.At(i, i))
	}
	for i, d := range md.active {
		z[d] = md.z[d] + scale*x.AtVec(i)
	}
	for i, s := range md.choices {
		if u := rng.Float64(); u > outside {
			z[firstChoice+i] = s.lo + s.width()*z[firstChoice+i]
		}
	}
}

// ratio is the mode's density at z over the prior's.
func (md *mode) ratio(z *[dims]float64) float64 {
	var diff [firstChoice]float64
	ln := 0.5 * md.lnDet
	for i, s := range md.choices {
		in := outside
		if u := z[firstChoice+i]; u >= s.lo && u < s.hi {
			in += (1 - outside) / s.width()
		}
		ln += math.Log(in)
	}
	raw := md.prec.RawSymmetric()
	n := len(md.active)
	for i, d := range md.active {
		diff[i] = z[d] - md.z[d]
		ln += 0.5 * z[d] * z[d]
	}
	var quad float64
	for i := range n {
		row := raw.Data[i*raw.Stride : i*raw.Stride+n]
		s := 0.5 * row[i] * diff[i]
		for j := i + 1; j < n; j++ {
			s += row[j] * diff[j]
		}
		quad += 2 * s * diff[i]
	}
	var p float64
	for _, s := range scales {
		p += s.share * math.Exp(-0.5*quad/(s.scale*s.scale)-float64(n)*math.Log(s.scale)+ln)
	}
	return p
}
