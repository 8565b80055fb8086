package belief

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// The quick likelihood of an instrument's readings is that of the full sum, also
// where a clamp's zero was not set and the readings taken after it was say so.
func TestQuickLikelihood(t *testing.T) {
	const shift = -0.2
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.ArrayA: 2.0 + shift, reading.LoadA: 1.3 + shift, reading.StandbyA: 0.02, reading.ShortA: 2.1,
	})})
	e := &evaluator{m: m}
	rng := rand.New(rand.NewPCG(4, 4))
	var unset int
	for range 3000 {
		z := fromPrior(rng)
		e.solve(&z, &m.hyps[0])
		for i := range m.obs { // near what was read, so that all is in question
			o := &m.obs[i]
			v := o.y + 0.05*rng.NormFloat64()
			if o.zero {
				v -= shift
			}
			e.out.Value[o.index] = v
		}
		for g := range m.groups {
			want := e.weigh(&m.groups[g], 0)
			if e.unset > 0.9 {
				unset++
			}
			assert.InDelta(t, want, e.logOf(&m.groups[g], 0), 0.5) // both take the likeliest ways for all, from different sides
		}
	}
	assert.Greater(t, unset, 1000)
}
