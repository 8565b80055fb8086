package belief

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A step, worked out among the readings, is that of the normal equations among the
// coordinates: the precision with its diagonal raised by lambda, solved for the gradient.
func TestStepSolvesTheNormalEquations(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.LoadA: 1, reading.BatteryV: 12.8, reading.RestV: 12.3,
	})})
	e := &evaluator{m: m}
	h := &m.hyps[0]
	g := newTangent(m, h, e, m.active(h))
	rng := rand.New(rand.NewPCG(3, 3))
	for range 20 {
		z := fromPrior(rng)
		for d := range firstError {
			z[d] *= 0.2 // where a step ends short of its limit
		}
		g.slopes(&z)
		g.gather(&z, startTemper)
		for _, lambda := range []float64{0, 0.01, 3} {
			next, ok := g.next(&z, lambda)
			require.True(t, ok)
			damped := g.precision()
			for a := range g.n {
				damped.SetSym(a, a, damped.At(a, a)*(1+lambda))
			}
			var step mat.VecDense
			require.NoError(t, step.SolveVec(damped, mat.NewVecDense(g.n, g.grad)))
			for a, d := range g.active {
				assert.InDelta(t, z[d]-min(max(step.AtVec(a), -1.5), 1.5), next[d], 1e-6)
			}
		}
	}
}
