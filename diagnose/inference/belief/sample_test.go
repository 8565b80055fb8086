package belief

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
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

// Where the densities of a hypothesis lie beside its posterior, the few samples that meet
// it weigh much: they become modes, and the evidence comes out as from the right place.
func TestReach(t *testing.T) {
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ArrayV: 13.0, reading.ArrayA: 4, reading.BatteryV: 12.8, reading.RestV: 12.3,
	})})
	md := m.search()[0][0]
	require.True(t, md.ready(&evaluator{m: m}))
	lnEvidence := func(aside float64, reach bool) (mean, stray float64) {
		const seeds = 16
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
