package fastmath

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Against package math, all over the range that a plant asks for and at its ends.
func TestExpAndLog(t *testing.T) {
	for x := -720.0; x < 720; x += 0.00731 {
		want := math.Exp(x)
		if got := Exp(x); math.Abs(got-want) > want*3e-16*(1+math.Abs(x)/2) {
			t.Fatalf("exp(%g) = %g, not %g", x, got, want)
		}
		if got := Log(want); math.Abs(got-math.Log(want)) > 5e-16*(1+math.Abs(x)) {
			t.Fatalf("log(%g) = %.17g, not %.17g", want, got, math.Log(want))
		}
	}
	for x := 0.5; x < 2; x += 1e-5 {
		assert.InDelta(t, math.Log(x), Log(x), 2.5e-16, "%g", x)
	}
	assert.Zero(t, Log(1))
	for _, x := range []float64{0, -1, 5e-324, 1e308, math.Inf(1), math.Inf(-1), math.NaN()} {
		assert.Equal(t, math.Float64bits(math.Log(x)), math.Float64bits(Log(x)), "log(%g)", x)
	}
	for _, x := range []float64{1000, -1000, math.Inf(1), math.Inf(-1), math.NaN()} {
		assert.Equal(t, math.Float64bits(math.Exp(x)), math.Float64bits(Exp(x)), "exp(%g)", x)
	}
}

// Each result is waited for by the next argument, as in a solution.
func BenchmarkChain(b *testing.B) {
	for _, f := range []struct {
		name     string
		exp, log func(float64) float64
	}{{"explog", Exp, Log}, {"math", math.Exp, math.Log}} {
		b.Run(f.name, func(b *testing.B) {
			x := 1.5
			for b.Loop() {
				x = 1.5 + 1e-3*f.log(1+f.exp(x))
			}
			require.Less(b, x, 2.0)
		})
	}
}
