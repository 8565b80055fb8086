package belief

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// The short sums give the likelihood that all ways of all readings give, and give way
// where a reading is more likely something else than right.
func TestPlainReadings(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.ArrayV: 13.1, reading.BatteryV: 12.9, reading.PostV: 12.9, reading.LoadV: 12.8, reading.OpenV: 19, reading.RestV: 12.6,
		reading.ShortA: 2.1, reading.StandbyA: 0.02,
	})})
	e := &evaluator{m: m}
	rng := rand.New(rand.NewPCG(5, 5))
	var plainly, floating, not int
	for range 3000 {
		z := fromPrior(rng)
		e.solve(&z, &m.hyps[0])
		floats := false
		for i := range m.obs {
			o := &m.obs[i]
			v := o.y * (1 + 0.002*rng.NormFloat64())
			if rng.IntN(20) == 0 {
				v += 5 * rng.NormFloat64()
			}
			e.out.Value[o.index] = v
			e.out.Floats[o.index] = rng.IntN(20) == 0
			floats = floats || e.out.Floats[o.index]
		}
		for g := range m.groups {
			group := &m.groups[g]
			lnL, ok := e.plainly(group, 0)
			if !ok {
				not++
				continue
			}
			plainly++
			if floats {
				floating++
			}
			assert.InDelta(t, e.weigh(group, 0), lnL, 1e-6)
		}
	}
	assert.Greater(t, plainly, 1000)
	assert.Greater(t, floating, 100)
	assert.Greater(t, not, 100)
}
