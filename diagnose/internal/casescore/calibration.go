package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// calibration is every probability that was said, with whether it came true.
type calibration []struct {
	p   float64
	hit bool
}

func (c *calibration) add(p float64, hit bool) {
	*c = append(*c, struct {
		p   float64
		hit bool
	}{p, hit})
}

// err is the expected calibration error over ten bins of even width: how far
// the mean probability is from the share that came true, by how many are said.
//
// Source: M. P. Naeini, G. F. Cooper, M. Hauskrecht, "Obtaining well calibrated
// probabilities using Bayesian binning", AAAI 2015 (from memory).
func (c calibration) err() float64 {
	var off [10]float64
	for _, x := range c {
		b := &off[min(int(x.p*10), 9)]
		*b += x.p
		if x.hit {
			*b--
		}
	}
	var sum float64
	for _, b := range off {
		sum += math.Abs(b)
	}
	return sum / float64(len(c))
}

// byChance is the error that the same probabilities would show if each were
// right: so many cases tell no smaller one. Mean, and the limits of nine draws in ten.
func (c calibration) byChance() (mean, low, high float64) {
	const draws = 1000
	rng := rand.New(rand.NewPCG(1, 1))
	drawn := slices.Clone(c)
	errs := make([]float64, draws)
	for i := range errs {
		for k := range drawn {
			drawn[k].hit = rng.Float64() < drawn[k].p
		}
		errs[i] = drawn.err()
	}
	slices.Sort(errs)
	return stat.Mean(errs, nil), stat.Quantile(0.05, stat.Empirical, errs, nil), stat.Quantile(0.95, stat.Empirical, errs, nil)
}
