package halfsplit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// A bell is what one component foresees at a node.
type bell struct {
	part           int
	weight         float64
	mean, sd, most float64 // most: the density at the mean [1/V]
}

// foresee are the bells at a node; what weighs less than least is left out.
func (s Search) foresee(list []component, n Node, least float64) (bells []bell) {
	ohm := s.chain.ohmTo(n)
	var sum float64
	for i := range list {
		if c := &list[i]; c.weight >= least {
			mean, variance := c.predict(n, ohm)
			bells = append(bells, bell{c.part, c.weight, mean, math.Sqrt(variance), density(0, 0, variance)})
			sum += c.weight
		}
	}
	for i := range bells {
		bells[i].weight /= sum
	}
	return bells
}

func (b *bell) density(volts float64) float64 {
	z := (volts - b.mean) / b.sd
	if math.Abs(z) > 7 {
		return 0
	}
	return b.most * math.Exp(-z*z/2)
}

// worth is what a reading at the node is expected to tell about the part [bits]: the
// mutual information of part and reading, by points that are even in the probability
// of each bell. A reading that is wrong tells nothing by itself, and blurs what right
// ones near it tell.
func (s Search) worth(n Node) float64 {
	bells := s.foresee(s.mixture, n, 1e-4)
	parts := len(s.chain.Parts)
	prior := make([]float64, parts)
	for _, b := range bells {
		prior[b.part] += b.weight
	}
	var bits float64
	of := make([]float64, parts) // density of the reading, given the part, times its probability
	for _, b := range bells {
		for _, z := range evenly {
			volts := b.mean + b.sd*z
			clear(of)
			for i := range bells {
				of[bells[i].part] += (1 - noContact - slip) * bells[i].weight * bells[i].density(volts)
			}
			wrong := s.wrong(volts)
			var all float64
			for k := range of {
				of[k] += prior[k] * wrong
				all += of[k]
			}
			bits += b.weight * math.Log2(of[b.part]/all/prior[b.part]) / float64(len(evenly))
		}
	}
	return max((1-noContact-slip)*bits, 0)
}

// evenly are points of the standard normal, each standing for the same probability.
var evenly = func() (z [15]float64) {
	for i := range z {
		z[i] = distuv.UnitNormal.Quantile((float64(i) + 0.5) / float64(len(z)))
	}
	return z
}()

// span is where nine in ten of what the components foresee lie.
func (s Search) span(list []component, n Node) Span {
	bells := s.foresee(list, n, 0)
	if len(bells) == 0 {
		return Span{math.NaN(), math.NaN()}
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, b := range bells {
		lo, hi = min(lo, b.mean-8*b.sd), max(hi, b.mean+8*b.sd)
	}
	return Span{quantile(bells, 0.05, lo, hi), quantile(bells, 0.95, lo, hi)}
}

// quantile halves the interval until it is narrower than a voltmeter shows.
func quantile(bells []bell, p, lo, hi float64) float64 {
	for hi-lo > 1e-4 {
		mid := (lo + hi) / 2
		var below float64
		for _, b := range bells {
			below += b.weight * distuv.UnitNormal.CDF((mid-b.mean)/b.sd)
		}
		if below < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
