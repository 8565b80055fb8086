package belief

import (
	"math/rand/v2"
	"slices"

	"ampwalk/diagnose/internal/fastmath"
)

// widths of a mode's densities: the readings widened by so much, with the share
// of samples. The widest reach round corners that the curvature at the mode
// knows nothing of, without leaving what the prior allows.
var widths = [...]struct{ width, share float64 }{{1, 0.35}, {1.4, 0.2}, {2.2, 0.15}, {6, 0.15}, {20, 0.15}}

// A doubt moves the misfits of a share of samples by so many deviations: to plants that are
// far beside the model in volts or in amperes, where the readings of that kind say little.
type doubt struct{ share, volts, amps float64 }

// freeDoubts are those of the samples from the prior, wideDoubts of the densities from
// wideFrom on.
var (
	freeDoubts = [...]doubt{{0.7, 0, 0}, {0.2, 0, 2.5}, {0.1, 2.5, 0}}
	wideDoubts = [...]doubt{{0.5, 1, 1}, {0.3, 0, 2.5}, {0.2, 2.5, 0}}
)

const wideFrom = 6 // of the widths

// move moves the misfits of a draw from the prior.
func (d doubt) move(z *[dims]float64) {
	z[dMisfitV] += d.volts
	z[dMisfitA] += d.amps
}

// doubted is the density of such samples at z over the prior's.
func doubted(doubts []doubt, z *[dims]float64) (p float64) {
	for _, d := range doubts {
		p += d.share * fastmath.Exp(d.volts*(z[dMisfitV]-d.volts/2)+d.amps*(z[dMisfitA]-d.amps/2))
	}
	return p
}

// pickDoubt picks one by its share.
func pickDoubt(doubts []doubt, rng *rand.Rand) doubt {
	pick := rng.Float64()
	for _, d := range doubts[1:] {
		if pick -= d.share; pick < 0 {
			return d
		}
	}
	return doubts[0]
}

// outside is the part of a mode's samples that let each choice go anywhere.
const outside = 0.1

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

// copied is a mode whose densities may change without the other's.
func (md *mode) copied(e *evaluator) *mode {
	if md.frame == nil && !md.ready(e) {
		return nil
	}
	c, f := *md, *md.frame
	f.mean, f.add = slices.Clone(f.mean), slices.Clone(f.add)
	c.frame, c.shapes, c.alike = &f, slices.Clone(c.shapes), nil
	return &c
}

func (md *mode) reshape() {
	md.shapes = md.shapes[:0]
	for _, w := range widths {
		md.shapes = append(md.shapes, md.frame.shape(w.width))
	}
}

// move moves a draw from the prior to the mode's density.
func (md *mode) move(z *[dims]float64, rng *rand.Rand) {
	pick := rng.Float64()
	k := 0
	for k < len(md.shapes)-1 && pick >= widths[k].share {
		pick -= widths[k].share
		k++
	}
	axes := len(md.frame.add)
	y, u := md.frame.along(z, make([]float64, axes)), make([]float64, axes)
	md.shapes[k].draw(y, u)
	md.frame.out(z, y, u)
	if widths[k].width >= wideFrom {
		pickDoubt(wideDoubts[:], rng).move(z)
	}
	for i, s := range md.chosen {
		if rng.Float64() > outside {
			z[firstChoice+i] = s.lo + s.width()*z[firstChoice+i]
		}
	}
}

// The logarithm of a density over the prior's, between which it is reckoned: where a
// sample is far astray it would not be a number, and far below it adds nothing to the
// samples from the prior itself.
const lnLeast, lnMost = -40, 500

// ratio is the mode's density at z over the prior's.
func (md *mode) ratio(z *[dims]float64) float64 {
	choice := 1.0
	for i, s := range md.chosen {
		in := outside
		if u := z[firstChoice+i]; u >= s.lo && u < s.hi {
			in += (1 - outside) / s.width()
		}
		choice *= in
	}
	var along, inFrame [firstError]float64
	y, u := along[:len(md.frame.add)], inFrame[:len(md.frame.add)]
	md.frame.along(z, y)
	md.frame.into(z, y, u)
	prior := inner(y, y)
	doubting := doubted(wideDoubts[:], z)
	var p float64
	for k := range md.shapes {
		s := &md.shapes[k]
		ln := 0.5 * (prior + s.lnDet - s.quad(u))
		if ln <= lnLeast {
			continue
		}
		share := widths[k].share
		if widths[k].width >= wideFrom {
			share *= doubting
		}
		p += share * fastmath.Exp(min(ln, lnMost))
	}
	return choice * p
}
