package plant

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Put back into its equation, from no guess, good ones and bad ones.
func TestOmega(t *testing.T) {
	assert.InDelta(t, 0.56714329040978387, omega(0, 0), 1e-15, "the omega constant")
	assert.InDelta(t, 1, omega(1, 0), 1e-15)
	for z := -300.0; z < 800; z += 0.37 {
		y := omega(z, 0)
		assert.InDelta(t, z, y+math.Log(y), 2e-13*(1+math.Abs(z)), "z %g", z)
		for _, guess := range []float64{1e-9, 0.3 * y, 0.99 * y, 1.01 * y, 3 * y, 1e3} {
			assert.InEpsilon(t, y, omega(z, guess), 1e-12, "z %g from %g", z, guess)
		}
	}
	assert.Zero(t, omega(-800, 0))
}
