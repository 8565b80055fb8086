package belief

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// A walk has a norm where other sources go as well. Where none does any norm would be
// consistent, and what it would make of the evidence anything: it is left out, and its
// places become modes.
func TestWalkWithoutANorm(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.BatteryV: 12.8, reading.RestV: 12.3,
	})})
	e := &evaluator{m: m}
	found := m.search()
	require.NotEmpty(t, found[0])
	for _, elsewhere := range []bool{false, true} {
		md := found[0][0]
		if md.frame == nil {
			require.True(t, md.ready(e))
		}
		walking, drawing := md.copied(e), md.copied(e)
		path := walking.walk(e, 100, rand.New(rand.NewPCG(1, 1)))
		if elsewhere {
			for i := range drawing.frame.mean {
				drawing.frame.mean[i] += 12 / math.Sqrt(1+drawing.frame.add[i])
			}
		}
		drawing.shapes = slices.Clone(drawing.shapes)
		drawing.reshape()
		s := &sampling{m: m, modes: []*mode{drawing}, from: []float64{0}, done: []bool{false}}
		s.place(2000, []int{0}, nil)
		s.walks = []walk{{md: walking, first: len(s.zs), n: len(path), lnZ: walking.lnZ - m.hyps[0].lnPrior}}
		s.zs = append(s.zs, path...)
		s.weigh(0, []int{0})
		s.blend()
		assert.Equal(t, elsewhere, s.norms())
		assert.Equal(t, elsewhere, len(s.modes) > 1)
		for _, x := range s.mix[s.walks[0].first:] {
			assert.Equal(t, elsewhere, math.IsInf(x, 1))
		}
	}
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
