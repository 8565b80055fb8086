package belief

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
)

// A plain reading is one of an instrument whose readings are all most likely right.
type plain struct {
	obs            int     // of model.obs
	weight         float64 // over its variance
	left, byErrors float64 // what the plant leaves unexplained, and how an error of the gain enters
}

// plainly gives what weigh gives, where every reading of an instrument is more likely
// right than anything else: then the sums are short. It fails where one is not, or where
// the zero is likely wrong. Of a clamp whose zero may not have been set it is close, since
// with the zero free another way of a reading may gain a little.
func (e *evaluator) plainly(g *meterGroup, temper float64) (lnL float64, ok bool) {
	e.plain = e.plain[:0]
	var sw, swa, swaa, swd, swad, swdd float64 // of weights, gains and what is left
	peaks, others := 1.0, 1.0
	for _, i := range g.obs {
		o := &e.m.obs[i]
		v := e.out.Value[o.index]
		variance := e.m.variance(o, &e.out) + square(temper*o.span)
		if e.out.Floats[o.index] {
			r := fitted{o: o, value: v, variance: variance, design: vector{g.gain * v, g.offset}}
			r.float()
			others *= (r.density[right] + r.density[wrong]) * rootTwoPi / o.chances[right]
			continue
		}
		w, a, d := 1/variance, g.gain*v, o.y-v
		e.plain = append(e.plain, plain{i, w, d, a})
		wa := w * a
		sw, swa, swaa = sw+w, swa+wa, swaa+wa*a
		swd, swad, swdd = swd+w*d, swad+wa*d, swdd+w*d*d
		peaks *= w
	}
	// The errors of gain and offset given them: mean and covariance.
	b := g.offset
	p00, p01, p11 := 1+swaa, b*swa, 1+b*b*sw
	det := p00*p11 - p01*p01
	c00, c01, c11 := p11/det, -p01/det, p00/det
	gain, offset := c00*swad+c01*b*swd, c01*swad+c11*b*swd
	quad := swdd - gain*swad - offset*b*swd

	var s, t, la, lb float64 // of the zero's own error, as in its normal equation
	for i := range e.plain {
		r := &e.plain[i]
		o, a := &e.m.obs[r.obs], r.byErrors
		left := r.left - a*gain - b*offset
		if !e.trusting {
			rest := 1 - r.weight*(c00*a*a+2*c01*a*b+c11*b*b) // of its variance, by all other readings
			q := r.weight * left * left / rest
			odds := 0.0
			if q >= plainWithin {
				odds = o.wrong / math.Sqrt(r.weight*rest) * fastmath.Exp(0.5*min(q, 2*lnMost)) / o.chances[right]
			}
			if o.flips {
				if t := r.weight * rest * square(2*o.y-left/rest); t <= q+plainApart {
					odds += o.chances[turned] / o.chances[right] * fastmath.Exp(0.5*(q-t))
				}
			}
			if odds > 1 || g.mayBeUnset && odds > plainOdds {
				return 0, false
			}
			others *= 1 + odds
		}
		if o.zero {
			w := unzeroedA * r.weight
			s, t = s+unzeroedA*w, t+w*left
			la, lb = la+w*a, lb+w*b
		}
	}
	lnL = g.lnRight + 0.5*(fastmath.Log(peaks*others*others/det)-quad)
	if !g.mayBeUnset {
		return lnL, true
	}
	// With d how the zero enters, s = dᵀ·Σ⁻¹·d and t = dᵀ·Σ⁻¹·r, it changes the
	// likelihood by exp(t²/2(1+s))/√(1+s).
	s += 1 - (c00*la*la + 2*c01*la*lb + c11*lb*lb)
	more := 0.5 * t * t / s
	if more > plainApart {
		return 0, false
	}
	return lnL + fastmath.Log(1-unzeroedShare+unzeroedShare*fastmath.Exp(more)/math.Sqrt(s)), true
}

// Squared deviations up to which no other way of a reading counts, how many more put
// one out of the question, and the odds of others up to which they are the same
// whether the zero was set or not.
const (
	plainWithin = 5
	plainApart  = 20
	plainOdds   = 1e-3
)
