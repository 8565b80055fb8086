package belief

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/plant"
	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
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
		assert.InDelta(t, c.Prior, r.Of(c.ID), 1e-9, c.ID)
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

// Evidence of every hypothesis against a plain average of the likelihood over
// draws from the prior, which needs no modes and no proposal to be right.
func TestEvidenceAgainstBruteForce(t *testing.T) {
	const draws = 200_000
	// Nats below the best from which a hypothesis is too unlikely to be given
	// samples enough.
	const minor = 4
	dusty := set(at(10), map[reading.Key]float64{reading.ArrayA: 2})
	dusty.Words[reading.Glass] = "dusty"
	dusty.Words[reading.Sky] = "clear"
	tests := []struct {
		name   string
		set    *reading.Set
		within float64 // nat, beyond what the brute force itself is uncertain by
		hyps   []condition.ID
	}{
		{"nothing at the array by day", set(at(12), map[reading.Key]float64{reading.ArrayV: 0.1}), 0.1,
			[]condition.ID{condition.Sound, condition.ArrayOpen, condition.BypassShort, condition.ControllerDead}},
		{"dark", set(at(22), map[reading.Key]float64{reading.ArrayV: 0, reading.BatteryV: 12.3}), 0.2,
			[]condition.ID{condition.Sound, condition.CellShort, condition.BatteryOpen, condition.ReverseLeak}},
		{"current in the sun", set(at(12), map[reading.Key]float64{reading.Irradiance: 800, reading.ArrayA: 3.2}), 0.2,
			[]condition.ID{condition.Sound, condition.ArraySoiled, condition.StringOpen, condition.ArrayShaded}},
		{"holding back", set(at(13), map[reading.Key]float64{reading.ArrayV: 17.5, reading.BatteryV: 14.3}), 0.2,
			[]condition.ID{condition.Sound, condition.SetPointLow, condition.ArrayJoint, condition.BatteryOpen}},
		// A current that a held-back array may show as well as a dim one.
		{"dusty", dusty, 0.2, []condition.ID{condition.Sound, condition.ArraySoiled, condition.ArrayAged}},
		{"a step on a rested battery", set(at(6), map[reading.Key]float64{reading.RestV: 12.5, reading.StepA: 5, reading.StepPostV: 12.1}), 0.2,
			[]condition.ID{condition.Sound, condition.BatteryWorn, condition.CellShort}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := newModel(Input{Site: site.Demo(), Readings: tt.set})
			_, lnEvidence := m.cloud(m.modes())
			brute := make([]float64, len(m.hyps))
			spread := make([]float64, len(m.hyps)) // standard error, relative
			m.share(len(m.hyps), func(e *evaluator, k int) {
				h := &m.hyps[k]
				if !slices.ContainsFunc(tt.hyps, h.has) {
					return
				}
				rng := rand.New(rand.NewPCG(1, uint64(k)))
				var sum, square float64
				for range draws {
					z := fromPrior(rng)
					e.solve(&z, h)
					l := math.Exp(e.given(&z) + e.logWords(h))
					sum += l
					square += l * l
				}
				brute[k] = h.lnPrior + math.Log(sum/draws)
				spread[k] = math.Sqrt(square-sum*sum/draws) / sum
			})
			for k := range m.hyps {
				if brute[k] == 0 {
					continue // not asked for
				}
				t.Logf("%v: brute force %.2f ± %.2f, here %.2f", m.hyps[k].ids, brute[k], spread[k], lnEvidence[k])
				if brute[k] < slices.Max(lnEvidence)-minor {
					continue
				}
				assert.InDelta(t, brute[k], lnEvidence[k], tt.within+3*spread[k], "%v", m.hyps[k].ids)
			}
		})
	}
}

// given is the log-likelihood of the numbers at the last solution and given
// errors of the instruments.
func (e *evaluator) given(z *[dims]float64) float64 {
	var s float64
	for i := range e.m.obs {
		p, _ := e.m.likelihood(&e.m.obs[i], z, &e.out)
		s += math.Log(p)
	}
	return s
}

// Readings drawn from the model itself: the mean belief in the truth equals the
// mean of the squared beliefs, if the beliefs are what they claim.
func TestCalibratedOnItsOwnDraws(t *testing.T) {
	if testing.Short() {
		t.Skip("thirty inferences")
	}
	s := site.Demo()
	rng := rand.New(rand.NewPCG(7, 7))
	keys := []reading.Key{
		reading.Irradiance, reading.ModuleC, reading.AirC, reading.BatteryC, reading.ArrayV, reading.ArrayA,
		reading.BatteryV, reading.PostV, reading.BatteryA, reading.LoadV, reading.LoadA, reading.OpenV, reading.RestV,
	}
	var truth, claimed float64
	inside := 0
	const n = 30
	for range n {
		blank := reading.NewSet()
		blank.TakenAt = at(rng.IntN(24))
		blank.LoadsOn = []string{s.Loads[0].Label}
		m := newModel(Input{Site: s, Readings: blank})
		z := fromPrior(rng)
		k := pick(m, rng.Float64())
		e := &evaluator{m: m}
		e.solve(&z, &m.hyps[k])
		taken := blank.Clone()
		for _, key := range keys {
			spec, _ := reading.SpecOf(key)
			o := m.ask(spec)
			taken.Numbers[key] = m.predict(&o, &z, &e.out) + m.spread(&o, &e.out)*rng.NormFloat64()
		}
		r, err := Infer(Input{Site: s, Readings: taken})
		require.NoError(t, err)
		id := condition.Sound
		if len(m.hyps[k].ids) > 0 {
			id = m.hyps[k].ids[0]
		}
		truth += r.Of(id)
		for _, p := range r.Conditions {
			claimed += p.P * p.P
		}
		if soc := m.chargeAt(z[dCharge]); soc >= r.State.ChargeLevel.P05 && soc <= r.State.ChargeLevel.P95 {
			inside++
		}
	}
	t.Logf("believed in the truth %.3f, claimed %.3f; charge inside its interval %d of %d", truth/n, claimed/n, inside, n)
	// Binomial: three standard deviations of a mean of thirty.
	assert.InDelta(t, claimed/n, truth/n, 3*0.4/math.Sqrt(n))
	assert.GreaterOrEqual(t, inside, 22, "of a 90 %% interval in %d draws", n)
}

// pick draws a hypothesis from the prior.
func pick(m *model, u float64) int {
	for k := range m.hyps {
		if u -= math.Exp(m.hyps[k].lnPrior); u < 0 {
			return k
		}
	}
	return 0
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

func BenchmarkInfer(b *testing.B) {
	in := Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.Irradiance: 700, reading.ModuleC: 45, reading.AirC: 28, reading.BatteryC: 26,
		reading.ArrayV: 13.5, reading.ModuleV: 13.8, reading.ArrayA: 4, reading.BatteryV: 13.3, reading.PostV: 13.28,
		reading.BatteryA: 3.1, reading.LoadV: 13.3, reading.LoadA: 0.9, reading.OpenV: 20, reading.ShortA: 4.1, reading.RestV: 12.6,
	})}
	for b.Loop() {
		if _, err := Infer(in); err != nil {
			b.Fatal(err)
		}
	}
}
