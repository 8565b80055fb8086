package belief

import (
	"math"
	"math/rand/v2"
	"slices"
)

// widths of a mode's densities: the readings widened by so much, with the share
// of samples. The widest reach round corners that the curvature at the mode
// knows nothing of, without leaving what the prior allows.
var widths = [...]struct{ width, share float64 }{{1, 0.35}, {1.4, 0.2}, {2.2, 0.15}, {6, 0.15}, {20, 0.15}}

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

// within reports whether z makes the mode's choices.
func (md *mode) within(z *[dims]float64) bool {
	for i, s := range md.chosen {
		if u := z[firstChoice+i]; u < s.lo || u >= s.hi {
			return false
		}
	}
	return true
}

// lnMost keeps a density where a sample is far astray within numbers.
const lnMost = 500

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
		p += widths[k].share * math.Exp(min(ln+0.5*(s.lnDet-s.quad(u[:len(md.active)])), lnMost))
	}
	return p
}
