package belief

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// A sample far astray has a density that is a number and counts for nothing:
// one that is none would take the whole belief with it.
func TestSamplesAstray(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.BatteryV: 12.8, reading.RestV: 12.3,
	})})
	found := m.search()
	require.NotEmpty(t, found[0])
	md := found[0][0]
	require.True(t, md.ready(&evaluator{m: m}))
	for _, far := range []float64{8, 50, 1000, 1e6} {
		z := md.z
		for _, d := range md.active {
			z[d] = far
		}
		r := md.ratio(&z)
		assert.False(t, math.IsNaN(r) || math.IsInf(r, 0), far)
		s := &sampling{m: m, modes: []*mode{md}, from: []float64{0}, zs: [][dims]float64{z}}
		s.weigh(0, []int{0})
		assert.Equal(t, math.Inf(-1), s.under[0][0], far)
		s.blend()
		assert.False(t, math.IsNaN(s.mix[0]) || math.IsInf(s.mix[0], 0), far)
	}
}
