package quantity_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"
)

// JCGM 100:2008, H.2: resistance, reactance and impedance from a voltage, a
// current and an angle whose errors are correlated. Errors that readings share
// are treated here as the diagnosis treats those of one instrument: as unknowns
// of their own that act on every reading, drawn and put through the equations.
//
// Values re-computed from the guide's rounded inputs; it prints u 0.071, 0.295,
// 0.236 and r −0.588, −0.485, 0.993 (from memory).
func TestCorrelatedQuantities(t *testing.T) {
	value := [3]float64{4.999, 19.661e-3, 1.04446}
	u := [3]float64{3.2e-3, 9.5e-6, 7.5e-4}
	var chol mat.Cholesky
	require.True(t, chol.Factorize(mat.NewSymDense(3, []float64{1, -0.36, 0.86, -0.36, 1, -0.65, 0.86, -0.65, 1})))
	var shares mat.TriDense
	chol.LTo(&shares)

	const draws = 200_000
	rng := rand.New(rand.NewPCG(1, 0))
	r, x, z := make([]float64, draws), make([]float64, draws), make([]float64, draws)
	for k := range draws {
		var shared, in [3]float64
		for i := range shared {
			shared[i] = rng.NormFloat64()
			in[i] = value[i]
			for j := range i + 1 {
				in[i] += u[i] * shares.At(i, j) * shared[j]
			}
		}
		z[k] = in[0] / in[1]
		r[k], x[k] = z[k]*math.Cos(in[2]), z[k]*math.Sin(in[2])
	}
	for _, tt := range []struct {
		name    string
		of      []float64
		mean, u float64
	}{{"R", r, 127.732, 0.0700}, {"X", x, 219.847, 0.2957}, {"Z", z, 254.260, 0.2366}} {
		assert.InDelta(t, tt.mean, stat.Mean(tt.of, nil), 0.003, tt.name)
		assert.InDelta(t, tt.u, stat.StdDev(tt.of, nil), 0.002, tt.name)
	}
	assert.InDelta(t, -0.5915, stat.Correlation(r, x, nil), 0.006)
	assert.InDelta(t, -0.4906, stat.Correlation(r, z, nil), 0.006)
	assert.InDelta(t, 0.9928, stat.Correlation(x, z, nil), 0.006)
}
