package belief

import (
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

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

// A visit is one draw of the model itself: what is wrong, all that is unknown,
// and the readings that it gives, each in one of the ways that a reading has.
func drawVisit(rng *rand.Rand, s *site.Site) (h hypothesis, z [dims]float64, m *model, taken *reading.Set) {
	blank := reading.NewSet()
	blank.TakenAt = at(rng.IntN(24))
	blank.LoadsOn = []string{s.Loads[0].Label}
	m = newModel(Input{Site: s, Readings: blank})
	h = m.hyps[pick(m, rng.Float64())]
	e := &evaluator{m: m}
	for { // charge and a latched output hang together
		z = fromPrior(rng)
		if most := math.Log(1 / latchShare); rng.Float64() < math.Exp(m.lnLatch(&z)-most) {
			break
		}
	}
	e.solve(&z, &h)
	taken = blank.Clone()
	for _, spec := range reading.Specs {
		if spec.Form != reading.Number || spec.Key == reading.Minutes || spec.Key == reading.StepA || rng.Float64() < 0.4 {
			continue
		}
		o := m.ask(spec)
		mean, sd := m.predict(&o, &z, &e.out), m.spread(&o, &e.out)
		if e.out.Floats[o.index] {
			wide := o.floatHigh
			if rng.Float64() < floatOften {
				wide = floatLow
			}
			sd = math.Hypot(sd, wide)
		}
		y := mean + sd*rng.NormFloat64()
		if e.out.Floats[o.index] && rng.Float64() < o.floatAny {
			y = mean + o.floatTop*rng.Float64()
		}
		switch u := rng.Float64(); {
		case u < o.slip:
			y = o.span * (rng.Float64() - 0.5)
		case o.flips && !e.out.Floats[o.index] && u < o.slip+turnChance:
			y = -y
		}
		taken.Numbers[spec.Key] = y
	}
	for _, k := range []reading.Key{reading.Sky, reading.Glass, reading.Shade} {
		spec, _ := reading.SpecOf(k)
		u := rng.Float64()
		for i, p := range m.chances(&word{key: k}, &h, &e.out, nil) {
			if u -= p; u < 0 {
				taken.Words[k] = spec.Choices[i]
				break
			}
		}
	}
	return h, z, m, taken
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

// Visits drawn from the model itself. The share of the posterior below the truth
// is even from 0 to 1, for every quantity; the mean belief in the truth equals
// the mean of the squared beliefs.
//
// Source: S. Talts et al., "Validating Bayesian inference algorithms with
// simulation-based calibration", arXiv:1804.06788 (from memory): the rank of the truth
// among L draws is even over L+1 places. Draws with weights count as so many equal ones
// as their effective sample size (A. Kong, 1992, from memory), and the truth lies anywhere
// in its own place.
func TestCalibratedOnItsOwnDraws(t *testing.T) {
	if testing.Short() {
		t.Skip("some dozen inferences")
	}
	const bins = 8
	visits := float64(effort.Of(0, 40, 120))
	quantities := map[string]int{
		"charge": dCharge, "light": dLight, "battery warmth": dBatteryC, "set-point": dSetPoint, "voltmeter's gain": dVoltGain,
	}
	names := slices.Sorted(maps.Keys(quantities))
	rng := rand.New(rand.NewPCG(8, 8))
	s := site.Demo()
	counts := map[string][]float64{}
	for _, name := range names {
		counts[name] = make([]float64, bins)
	}
	var truth, claimed float64
	for range int(visits) {
		h, z, _, taken := drawVisit(rng, s)
		m := newModel(Input{Site: s, Readings: taken})
		ps, lnEvidence := m.cloud(m.modes())
		below := map[string]float64{}
		var total, squares float64
		for i := range ps {
			total += ps[i].weight
			squares += ps[i].weight * ps[i].weight
			for name, d := range quantities {
				if ps[i].z[d] < z[d] {
					below[name] += ps[i].weight
				}
			}
		}
		draws := total * total / squares
		for _, name := range names {
			share := (below[name]/total*draws + rng.Float64()) / (draws + 1)
			counts[name][min(int(share*bins), bins-1)]++
		}
		id := condition.Sound
		if len(h.ids) > 0 {
			id = h.ids[0]
		}
		for _, p := range m.posteriors(lnEvidence) {
			claimed += p.P * p.P / visits
			if p.ID == id {
				truth += p.P / visits
			}
		}
	}
	limit := distuv.ChiSquared{K: bins - 1}.Quantile(0.995)
	for _, name := range names {
		c := counts[name]
		var chi float64
		for _, n := range c {
			chi += (n - visits/bins) * (n - visits/bins) / (visits / bins)
		}
		t.Logf("%-16s %v chi-squared %.1f, limit %.1f", name, c, chi, limit)
		assert.Less(t, chi, limit, name)
	}
	t.Logf("believed in the truth %.3f, claimed %.3f", truth, claimed)
	require.Greater(t, truth, 0.3)
	assert.InDelta(t, claimed, truth, 3*0.4/math.Sqrt(visits)) // three standard deviations
}
