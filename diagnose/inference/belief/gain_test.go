package belief

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What an outcome tells of a label, from few stand-ins of unequal weight, against the
// integral that it stands for: a value about 0 with a spread of 1 under each label, whose
// means lie so far apart, shown in bins with an error of its own.
func TestInformation(t *testing.T) {
	const trials = 200
	edges := []float64{-2, -1.5, -1, -0.5, 0, 0.5, 1, 1.5, 2, 2.5, 3}
	chances := func(mean, sd float64) []float64 {
		row := make([]float64, len(edges)+1)
		between(row, edges, mean, sd)
		return row
	}
	for _, tt := range []struct {
		apart, rare float64 // the means, and the probability of the second label
		least       int     // stand-ins of it
	}{
		{0, 0.5, 200}, {0, 0.02, 50}, {1, 0.5, 200}, {1, 0.1, 50}, {2, 0.02, 50}, {4, 0.01, 50},
	} {
		a, b := chances(0, math.Hypot(1, 0.3)), chances(tt.apart, math.Hypot(1, 0.3))
		var want float64
		for i := range a {
			all := (1-tt.rare)*a[i] + tt.rare*b[i]
			want += (1-tt.rare)*a[i]*math.Log2(a[i]/all) + tt.rare*b[i]*math.Log2(b[i]/all)
		}
		rng := rand.New(rand.NewPCG(7, 7))
		var mean, squares float64
		for range trials {
			var d []standIn
			var table [][]float64
			var label []int
			add := func(l, n int, centre, share float64) {
				for range n {
					d = append(d, standIn{part: share / float64(n) * (0.5 + rng.Float64())})
					table = append(table, chances(centre+rng.NormFloat64(), 0.3))
					label = append(label, l)
				}
			}
			add(0, int(400*(1-tt.rare)), 0, 1-tt.rare)
			add(1, tt.least, tt.apart, tt.rare)
			x := information(table, d, label, 2)
			mean += x / trials
			squares += square(x-want) / trials
		}
		t.Logf("%v: %.4f bits, estimated %.4f ± %.4f", tt, want, mean, math.Sqrt(squares))
		assert.InDelta(t, want, mean, 0.003+0.05*want)
	}
}
