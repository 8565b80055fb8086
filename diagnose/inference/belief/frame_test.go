package belief

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A frame's points and those of the coordinates are each other's, and what lies across
// its axes stays.
func TestFrameThereAndBack(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.8, reading.ArrayA: 4, reading.BatteryV: 13.6, reading.BatteryA: 3,
		reading.PostV: 13.55, reading.RestV: 12.9,
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
