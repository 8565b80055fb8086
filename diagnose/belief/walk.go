package belief

import (
	"math"
	"math/rand/v2"
	"slices"
)

const (
	burnIn   = 40
	learning = 200 // steps of a walk that its densities learn from
	thinning = 5
	walkDeep = 7.0 // nats below the mode, beyond half a nat a reading, that a walk goes
)

// walk follows the posterior of the mode's hypothesis within its choices and
// regime for n samples, by steps that leave one of the mode's normal densities unchanged and are
// accepted by what the posterior differs from it.
//
// Source: preconditioned Crank–Nicolson, S. L. Cotter et al., Statistical
// Science 28 (2013) 424–446 (from memory).
func (md *mode) walk(e *evaluator, n int, rng *rand.Rand) [][dims]float64 {
	h, f := &e.m.hyps[md.hyp], md.frame
	likelihood := func(z *[dims]float64) float64 {
		for _, d := range md.active {
			if math.Abs(z[d]) > 6 {
				return math.Inf(-1)
			}
		}
		e.solve(z, h)
		x := e.logNumbers(0) + e.logWords(h)
		if !md.reaches(x, e.out.Regulating, e.out.Charging) {
			return math.Inf(-1)
		}
		return x
	}
	z := md.z
	e.solve(&z, h)
	md.floor = e.logNumbers(0) + e.logWords(h) - walkDeep - 0.5*float64(len(e.m.obs))
	md.regulating, md.charging = e.out.Regulating, e.out.Charging
	lnL := likelihood(&z)
	axes := len(f.add)
	y, u := f.along(&z, make([]float64, axes)), make([]float64, axes) // components, and in the frame
	f.into(&z, y, u)
	yNext, uNext, step := make([]float64, axes), make([]float64, axes), make([]float64, axes)
	sum, squares := make([]float64, axes), make([]float64, axes)
	var moves float64
	path := make([][dims]float64, 0, n)
	for i := 0; len(path) < n; i++ {
		k := strides[i%len(strides)]
		s := &md.shapes[k.shape]
		keep := math.Sqrt(1 - k.reach*k.reach)
		next := fromPrior(rng)
		f.along(&next, step)
		for _, d := range md.active {
			next[d] = keep*z[d] + k.reach*next[d]
		}
		for a, x := range step {
			yNext[a] = keep*y[a] + k.reach*x
			uNext[a] = s.centre[a] + keep*(u[a]-s.centre[a]) + k.reach*x/s.root[a]
		}
		f.out(&next, yNext, uNext)
		for i, c := range md.chosen {
			next[firstChoice+i] = c.lo + c.width()*next[firstChoice+i]
		}
		x := likelihood(&next)
		prior := 0.5 * (inner(y, y) - inner(yNext, yNext)) // the rest of it is kept by the step
		if math.Log(rng.Float64()) < x-lnL+prior+0.5*(s.quad(uNext)-s.quad(u)) {
			z, lnL = next, x
			y, yNext, u, uNext = yNext, y, uNext, u
			if i >= burnIn {
				moves++
			}
		}
		switch {
		case i < burnIn:
		case i < burnIn+learning:
			for i, x := range u {
				sum[i] += x
				squares[i] += x * x
			}
		case i == burnIn+learning:
			f.learn(learning, moves, sum, squares)
			md.reshape()
		case i%thinning == 0:
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

// reaches reports whether a walk goes where the likelihood is lnL, in a regime.
// Across a change of regime, or where a reading is taken for
// wrong, its steps would not lead back.
func (md *mode) reaches(lnL float64, regulating, charging bool) bool {
	return lnL >= md.floor && regulating == md.regulating && charging == md.charging
}

// A walk is a source of samples.
type walk struct {
	md       *mode
	first, n int     // its samples
	lnZ      float64 // log of its norm, at a guess
	left     bool    // out, since it has no norm to rely on
}

// walk adds walks about the modes of some hypotheses, and the densities that
// they learnt, which take the place of those that they began with.
func (s *sampling) walk(hyps []int, errors map[int]float64) {
	share, as := s.shares(hyps, errors)
	var order []int
	for i, md := range as {
		if md != nil {
			order = append(order, i)
		}
	}
	if len(order) == 0 {
		return
	}
	slices.SortStableFunc(order, func(a, b int) int { return -compare(as[a].lnZ, as[b].lnZ) })
	order = order[:min(len(order), walksMost)]
	best := as[order[0]].lnZ
	order = slices.DeleteFunc(order, func(i int) bool { return as[i].lnZ < best-walksWithin })
	var walking float64
	for _, i := range order {
		walking += share[i]
	}
	learned := make([]*mode, len(order))
	paths := make([][][dims]float64, len(order))
	s.m.share(len(order), func(e *evaluator, k int) {
		md := as[order[k]].copied(e)
		if md == nil {
			return
		}
		learned[k] = md
		n := max(20, int(math.Round(share[order[k]]/walking*s.m.fineness*walked)))
		paths[k] = md.walk(e, n, rand.New(rand.NewPCG(s.m.seed, uint64(k)+1)))
	})
	s.include(learned)
	for k, md := range learned {
		if md != nil {
			s.done[order[k]] = true
			s.walks = append(s.walks, walk{md: md, first: len(s.zs), n: len(paths[k]), lnZ: md.lnZ - s.m.hyps[md.hyp].lnPrior})
			s.zs = append(s.zs, paths[k]...)
		}
	}
}

// leastShared is how many samples a walk must share with other sources, by the chance of
// each to have come from the one or the other, for its norm to be relied on: the log of the
// norm is in doubt by about one over the root of that.
const leastShared = 5

// norms adds the walks to the mixture and reports whether one had to be left out:
// a walk where no other source goes has a norm that nothing holds. What it found becomes
// modes, from which the next samples reach it.
func (s *sampling) norms() (left bool) {
	known := slices.Clone(s.mix)
	for {
		shared := s.addWalks(known)
		worst := -1
		for i := range s.walks {
			if !s.walks[i].left && shared[i] < leastShared && (worst < 0 || shared[i] < shared[worst]) {
				worst = i
			}
		}
		if worst < 0 {
			break
		}
		s.walks[worst].left, left = true, true
		s.reinforce(&s.walks[worst])
	}
	for _, w := range s.walks {
		if w.left {
			for j := range w.n { // as if they were not there
				s.mix[w.first+j] = math.Inf(1)
			}
		}
	}
	return left
}

// addWalks makes the mixture of what is known of it and the walks. A walk's density is
// the likelihood within its choices and regime; its norm follows from all samples, to
// consistency. It gives how many samples each walk shares with other sources.
func (s *sampling) addWalks(known []float64) (shared []float64) {
	var walks []*walk
	for i := range s.walks {
		if !s.walks[i].left {
			walks = append(walks, &s.walks[i])
		}
	}
	density := make([]float64, len(walks)*len(s.zs)) // one row a sample, over the first guess of the norms
	for j := range s.zs {
		for i, w := range walks {
			x := &s.under[j][w.md.hyp]
			if w.md.within(&s.zs[j]) && w.md.reaches(x.ln, x.regulating, x.charging) {
				density[j*len(walks)+i] = float64(w.n) * math.Exp(min(x.ln-w.lnZ, 300))
			}
		}
	}
	norm := slices.Repeat([]float64{1}, len(walks))
	next := make([]float64, len(walks))
	for range 200 {
		clear(next)
		for j := range s.zs {
			row := density[j*len(walks) : (j+1)*len(walks)]
			s.mix[j] = known[j]
			for i, x := range row {
				s.mix[j] += x / norm[i]
			}
			for i, x := range row {
				next[i] += x / float64(walks[i].n) / s.mix[j]
			}
		}
		change := 0.0
		for i := range norm {
			change = max(change, math.Abs(next[i]/norm[i]-1))
		}
		copy(norm, next)
		if change < 1e-4 {
			break
		}
	}
	shared = make([]float64, len(s.walks))
	for j := range s.zs {
		k := 0
		for i := range s.walks {
			if !s.walks[i].left {
				x := density[j*len(walks)+k] / norm[k] / s.mix[j]
				shared[i] += x * (1 - x)
				k++
			}
		}
	}
	return shared
}

// reinforced is how many modes take the place of a walk.
const reinforced = 4

// reinforce adds modes at points of a walk that are far apart.
func (s *sampling) reinforce(w *walk) {
	more := make([]*mode, reinforced)
	s.m.share(len(more), func(e *evaluator, i int) {
		more[i] = s.m.at(&s.zs[w.first+(2*i+1)*w.n/(2*reinforced)], w.md.hyp, e)
	})
	s.include(more)
}

// at is a mode of hypothesis k about z, which need be no hilltop.
func (m *model) at(z *[dims]float64, k int, e *evaluator) *mode {
	h := &m.hyps[k]
	md := &mode{place: place{z: *z}, hyp: k, active: m.active(h)}
	for i, parts := range h.parts() {
		c := slices.IndexFunc(parts, func(p span) bool { return z[firstChoice+i] < p.hi })
		md.chosen[i] = parts[max(c, 0)]
	}
	md.open(e)
	if !md.settle(newTangent(m, h, e, md.active)) || !md.ready(e) {
		return nil
	}
	return md
}
