package belief

import (
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Against sorting, with values that are alike too.
func TestNth(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for range 2000 {
		xs := make([]float64, 1+rng.IntN(60))
		for i := range xs {
			xs[i] = float64(rng.IntN(40))
		}
		sorted := slices.Sorted(slices.Values(xs))
		k := rng.IntN(len(xs))
		nth(xs, k)
		assert.Equal(t, sorted[k], xs[k])
		assert.LessOrEqual(t, slices.Max(xs[:k+1]), xs[k])
		assert.GreaterOrEqual(t, slices.Min(xs[k:]), xs[k])
		assert.ElementsMatch(t, sorted, xs)
	}
}
