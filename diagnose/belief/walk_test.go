package belief

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// Where the densities of a hypothesis lie beside its posterior, the few samples that meet
// it weigh much: they become modes, and the evidence comes out as from the right place.
func TestReach(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.BatteryV: 12.8, reading.RestV: 12.3,
	})})
	md := m.search()[0][0]
	require.True(t, md.ready(&evaluator{m: m}))
	lnEvidence := func(aside float64, reach bool) (mean, stray float64) {
		const seeds = 4
		var squares float64
		for seed := range uint64(seeds) {
			m.seed = seed
			c := md.copied(nil)
			for i := range c.frame.mean {
				c.frame.mean[i] += aside / math.Sqrt(1+c.frame.add[i])
			}
			c.reshape()
			s := &sampling{m: m, modes: []*mode{c}, from: []float64{0}, done: []bool{false}}
			var w []worth
			for range 5 {
				first := len(s.zs)
				s.place(5000, []int{0}, nil)
				s.weigh(first, []int{0})
				s.blend()
				w = s.worth([]int{0}, len(s.zs))
				if reach {
					s.reach(append(w, worth{mass: w[0].mass})) // against another as likely
				}
			}
			x := math.Log(w[0].mass) + w[0].top
			mean += x / seeds
			squares += x * x / seeds
		}
		return mean, math.Sqrt(squares - mean*mean)
	}
	right, _ := lnEvidence(0, false)
	_, stray := lnEvidence(6, false)
	assert.Greater(t, stray, 0.5, "or there is nothing to mend")
	aside, stray := lnEvidence(6, true)
	assert.Less(t, stray, 0.15)
	assert.InDelta(t, right, aside, 0.15)
}

// A frame's points and those of the coordinates are each other's, and what lies across
// its axes stays.
func TestFrameThereAndBack(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.BatteryV: 12.8, reading.BatteryA: 3,
	})})
	e := &evaluator{m: m}
	md := m.search()[0][0]
	require.True(t, md.ready(e))
	f := md.frame
	require.NotEmpty(t, f.bent)
	require.Less(t, len(f.add), len(f.active))
	rng := rand.New(rand.NewPCG(2, 2))
	axes := len(f.add)
	for range 100 {
		z := fromPrior(rng)
		before, y := z, f.along(&z, make([]float64, axes))
		u := make([]float64, axes)
		for i := range u {
			u[i] = f.centre[i] + rng.NormFloat64()
		}
		f.out(&z, y, u)
		assert.InDeltaSlice(t, f.along(&z, make([]float64, axes)), y, 1e-9)
		back := make([]float64, axes)
		f.into(&z, y, back)
		assert.InDeltaSlice(t, u, back, 1e-9)
		var moved, along float64 // squared, of the way
		for _, d := range f.active {
			moved += square(z[d] - before[d])
		}
		for i, x := range f.along(&before, make([]float64, axes)) {
			along += square(y[i] - x)
		}
		assert.InDelta(t, moved, along, 1e-9*(1+moved))
	}
}
