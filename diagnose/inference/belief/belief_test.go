package belief

import (
	"math"
	"runtime/debug"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// at is local time at the demo site on a day in March.
func at(hour int) time.Time {
	return time.Date(2026, 3, 14, hour, 0, 0, 0, time.FixedZone("", int(site.Demo().Place.UTCOffsetH*3600)))
}

func set(when time.Time, numbers map[reading.Key]float64) *reading.Set {
	s := reading.NewSet()
	s.TakenAt = when
	for k, v := range numbers {
		s.Numbers[k] = v
	}
	return s
}

func TestWithoutReadingsThePriorStands(t *testing.T) {
	s := site.Demo()
	r, err := Infer(Input{Site: s})
	require.NoError(t, err)
	for _, c := range condition.Applicable(s) {
		as := c.Prior / condition.Applicable(s)[0].Prior * r.Of(condition.Sound)
		switch c.ID {
		case condition.CutOffFails, condition.LoadOutputOpen: // none where the battery is such that they do not act
			assert.Less(t, r.Of(c.ID), as, c.ID)
		default:
			assert.InDelta(t, as, r.Of(c.ID), 1e-9, c.ID)
		}
	}
	assert.Greater(t, r.State.ChargeLevel.P95-r.State.ChargeLevel.P05, 0.7, "nothing is known of the charge")
}

func TestNoSite(t *testing.T) {
	_, err := Infer(Input{})
	assert.ErrorIs(t, err, ErrNoSite)
}

// What the readings cannot tell apart keeps its prior ratio: at night the
// controller's set-points do not act.
func TestEqualLikelihoodsKeepThePriorRatio(t *testing.T) {
	s := site.Demo()
	r, err := Infer(Input{Site: s, Readings: set(at(23), map[reading.Key]float64{
		reading.ArrayV: 0, reading.ArrayA: 0.01, reading.BatteryV: 12.4, reading.PostV: 12.41, reading.BatteryA: -0.7,
	})})
	require.NoError(t, err)
	prior := func(id condition.ID) float64 {
		for _, c := range condition.Applicable(s) {
			if c.ID == id {
				return c.Prior
			}
		}
		return math.NaN()
	}
	for _, pair := range [][2]condition.ID{
		{condition.SetPointHigh, condition.ChargePathStuck},
		{condition.SetPointHigh, condition.Sound},
	} {
		assert.InEpsilon(t, prior(pair[0])/prior(pair[1]), r.Of(pair[0])/r.Of(pair[1]), 0.02, "%v", pair)
	}
}

func TestSameInputSameResult(t *testing.T) {
	numbers := map[reading.Key]float64{
		reading.Irradiance: 700, reading.ArrayV: 13.5, reading.ArrayA: 4, reading.BatteryV: 13.3, reading.BatteryA: 3.1,
	}
	first, err := Infer(Input{Site: site.Demo(), Readings: set(at(11), numbers)})
	require.NoError(t, err)
	// The same answers in another order.
	again := reading.NewSet()
	again.TakenAt = at(11)
	keys := []reading.Key{reading.BatteryA, reading.BatteryV, reading.ArrayA, reading.ArrayV, reading.Irradiance}
	for _, k := range keys {
		again.Numbers[k] = numbers[k]
	}
	second, err := Infer(Input{Site: site.Demo(), Readings: again})
	require.NoError(t, err)
	assert.Equal(t, first, second)
}

// In daylight one clear reading of no current and no voltage leaves dark or
// open; the module's own plug decides (common practice).
func TestTheReadingThatTeachesMost(t *testing.T) {
	s := set(time.Time{}, map[reading.Key]float64{reading.ArrayV: 0.02, reading.ArrayA: 0})
	r, err := Infer(Input{Site: site.Demo(), Readings: s})
	require.NoError(t, err)
	worth := map[reading.Key]float64{}
	for _, g := range r.Gains {
		worth[g.Reading] = g.Bits
		assert.GreaterOrEqual(t, g.Bits, 0.0, g.Reading)
		assert.False(t, s.Has(g.Reading), "%s is taken already", g.Reading)
	}
	assert.Greater(t, worth[reading.ModuleV], worth[reading.AirC])
	assert.Greater(t, worth[reading.Irradiance], worth[reading.AirC])
}

func TestASlipOfTheProbeIsSuspected(t *testing.T) {
	numbers := map[reading.Key]float64{}
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), nil)})
	e := &evaluator{m: m}
	var z [dims]float64
	z[dLight] = m.lightZ(700)
	for d := firstChoice; d < dims; d++ {
		z[d] = 0.2
	}
	e.solve(&z, &m.hyps[0])
	for _, k := range []reading.Key{reading.Irradiance, reading.ArrayV, reading.ArrayA, reading.BatteryV, reading.PostV, reading.BatteryA, reading.LoadV} {
		i, _ := plant.IndexOf(k)
		numbers[k] = e.out.Value[i]
	}
	numbers[reading.LoadV] = 1.3 // 13.0 read on the wrong range
	r, err := Infer(Input{Site: site.Demo(), Readings: set(at(11), numbers)})
	require.NoError(t, err)
	require.NotEmpty(t, r.Suspects)
	assert.Equal(t, reading.LoadV, r.Suspects[0].Reading)
	assert.Greater(t, r.Suspects[0].P, 0.5)
	assert.Less(t, r.Suspects[1].P, 0.1)
}

// One answer to a new belief, the next reading included, after many readings
// and after few.
func BenchmarkInfer(b *testing.B) {
	many := map[reading.Key]float64{
		reading.Irradiance: 700, reading.ModuleC: 45, reading.AirC: 28, reading.BatteryC: 26,
		reading.ArrayV: 13.5, reading.ModuleV: 13.8, reading.ArrayA: 4, reading.BatteryV: 13.3, reading.PostV: 13.28,
		reading.BatteryA: 3.1, reading.LoadV: 13.3, reading.LoadA: 0.9, reading.OpenV: 20, reading.ShortA: 4.1, reading.RestV: 12.6,
	}
	few := map[reading.Key]float64{reading.Irradiance: 700, reading.ArrayA: 4, reading.BatteryV: 13.3}
	defer debug.SetGCPercent(debug.SetGCPercent(GCPercent)) // as the program does
	for name, numbers := range map[string]map[reading.Key]float64{"many": many, "few": few} {
		b.Run(name, func(b *testing.B) {
			var solved int64
			for b.Loop() {
				m := newModel(Input{Site: site.Demo(), Readings: set(at(11), numbers)})
				m.infer()
				solved += m.solved.Load()
			}
			b.ReportMetric(float64(solved)/float64(b.N), "plants/op")
		})
	}
}
