package belief

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
)

// The densest nine tenths of draws whose own are known: of a normal distribution 1.645
// deviations to both sides, of an exponential one from nothing to ln 10, and of two far
// apart a piece each (tables of the distributions).
func TestDensestRange(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	draws := func(f func() float64) []float64 {
		xs := make([]float64, 20_000)
		for i := range xs {
			xs[i] = f()
		}
		return xs
	}
	r := densest(draws(rng.NormFloat64))
	assert.InDelta(t, -1.645, r.Lo, 0.15)
	assert.InDelta(t, 1.645, r.Hi, 0.15)
	assert.Len(t, r.Pieces(), 1)

	r = densest(draws(rng.ExpFloat64))
	assert.InDelta(t, 0, r.Lo, 0.01)
	assert.InDelta(t, math.Log(10), r.Hi, 0.1)

	liveOrDead := func(live float64) func() float64 {
		return func() float64 {
			if rng.Float64() < live {
				return 13 + 0.1*rng.NormFloat64()
			}
			return 0.05 * rng.Float64()
		}
	}
	r = densest(draws(liveOrDead(0.6)))
	assert.Len(t, r.Pieces(), 2)
	assert.InDelta(t, 0.05, r.GapLo, 0.01)
	assert.InDelta(t, 13-0.1645, r.GapHi, 0.03)
	assert.True(t, r.Holds(0.02, 0) && r.Holds(13, 0))
	assert.False(t, r.Holds(6, 0.2))

	assert.Len(t, densest(draws(liveOrDead(0.99))).Pieces(), 1, "what is rare is outside")
}

// Whatever the draws, nine tenths lie within, and turning all round turns the range round.
func TestRangeHoldsNineTenths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		xs := rapid.SliceOfN(rapid.Float64Range(-50, 50), 1, 200).Draw(t, "draws")
		all := append([]float64{}, xs...)
		r := densest(xs)
		within := 0
		for _, x := range all {
			if r.Holds(x, 0) {
				within++
			}
		}
		assert.GreaterOrEqual(t, float64(within), rangeShare*float64(len(all)))
		minus := func(x float64) float64 { return -x }
		assert.Equal(t, r, r.As(minus).As(minus))
		for _, x := range all {
			assert.Equal(t, r.Holds(x, 0), r.As(minus).Holds(-x, 0))
		}
	})
}
