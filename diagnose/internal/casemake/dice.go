package main

import (
	"math"
	"math/rand/v2"
	"strconv"
)

// A dice draws everything of one case.
type dice struct{ *rand.Rand }

func newDice(seed, stream uint64) dice { return dice{rand.New(rand.NewPCG(seed, stream))} }

func (d dice) between(lo, hi float64) float64 { return lo + (hi-lo)*d.Float64() }

// log draws evenly over the decades between two positive limits.
func (d dice) log(lo, hi float64) float64 { return math.Exp(d.between(math.Log(lo), math.Log(hi))) }

func (d dice) chance(p float64) bool { return d.Float64() < p }

func pick[T any](d dice, from ...T) T { return from[d.IntN(len(from))] }

// round to a number of decimals, as a label or a meter has it.
func round(x float64, decimals int) float64 {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		panic(err)
	}
	return v + 0 // no zero with a sign
}

func clamp(x, lo, hi float64) float64 { return min(max(x, lo), hi) }

// interpolate reads a table of even steps from 0 to 1.
func interpolate(table []float64, x float64) float64 {
	x = clamp(x, 0, 1) * float64(len(table)-1)
	k := min(int(x), len(table)-2)
	return table[k] + (table[k+1]-table[k])*(x-float64(k))
}
