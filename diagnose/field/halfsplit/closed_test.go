package halfsplit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

type told struct {
	node  string
	volts float64
}

// bruteForce is the posterior by samples from the prior, each weighed by how well it
// explains the readings: no component, no update, no sum of normals. The ghost's leak is
// drawn itself, not by steps.
func bruteForce(c *Chain, f Fault, e Ends, readings []told, samples int, rng *rand.Rand) []float64 {
	x := c.expected
	own := Search{chain: c, ends: e}.jitter()
	normally := func(n normal) float64 { return n.mean + n.sd*rng.NormFloat64() }
	// near draws half of its samples near a reading, where they count, and says what each
	// then weighs.
	near := func(n normal, volts, sd float64) (x, weight float64) {
		around := normal{volts, 3 * sd}
		switch {
		case math.IsNaN(volts):
			return normally(n), 1
		case rng.IntN(2) == 0:
			x = normally(around)
		default:
			x = normally(n)
		}
		own := density(x, n.mean, n.variance())
		return x, 2 * own / (own + density(x, around.mean, around.variance()))
	}
	is := kindsOf[e.Far]
	readings = slices.Concat(readings, []told{{c.Source, e.Source}, {c.Sink, e.Sink}})
	sums := make([]float64, len(c.Parts))
	flows := normal{e.CurrentA, max(currentSpread*math.Abs(e.CurrentA), currentLeast)}
	var drops []normal
	if f == Joint {
		drops = x.joint.drops(flows)
	}
	for range samples {
		for k, p := range c.Parts {
			var source, far, amps, sourceSD, farSD, by float64
			weight := p.Prior
			if f == Open {
				sourceSD = math.Hypot(own, x.drift*x.open.mean)
				source, by = near(x.open, e.Source, sourceSD)
				weight *= by
				switch u := rng.Float64(); {
				case u < is.dead:
					far = steadySD * rng.NormFloat64()
					farSD = math.Hypot(own, steadySD)
				case u < is.dead+is.fed:
					farSD = math.Hypot(math.Hypot(own, steadySD), x.drift*max(x.fed.mean, x.open.mean))
					far, by = near(x.fed, e.Sink, farSD)
					weight *= by
				default:
					share := meterOhm / (meterOhm + leakLow*math.Pow(leakHigh/leakLow, rng.Float64()))
					far = share * source
					farSD = math.Hypot(math.Hypot(own, steadySD), x.drift*share*x.open.mean)
				}
			} else {
				weight = p.PriorJoint
				sourceSD = math.Hypot(own, x.held*x.closed.mean)
				source, by = near(x.closed, e.Source, sourceSD)
				weight *= by
				amps = normally(flows)
				far = source - normally(drops[rng.IntN(len(drops))])
				farSD = sourceSD
			}
			for _, r := range readings {
				if math.IsNaN(r.volts) {
					continue
				}
				n, _ := c.Node(r.node)
				mean, sd := source, sourceSD
				if n.behind > k {
					mean, sd = far, farSD
				}
				var ohm float64
				for _, before := range c.Parts[:n.behind] {
					ohm += before.ohm
				}
				z := (r.volts - mean + amps*ohm) / sd
				right := math.Exp(-z*z/2) / (sd * math.Sqrt(2*math.Pi))
				z = r.volts / noContactSD
				wrong := noContact*math.Exp(-z*z/2)/(noContactSD*math.Sqrt(2*math.Pi)) + slip/(2*x.most)
				weight *= (1-noContact-slip)*right + wrong
			}
			sums[k] += weight
		}
	}
	var all float64
	for _, s := range sums {
		all += s
	}
	for k := range sums {
		sums[k] /= all
	}
	return sums
}

// The closed form is what sampling gives. The samples leave an error of about 0.01
// here.
func TestClosedFormAgainstSamples(t *testing.T) {
	array, battery, load := ChainOf(site.Demo(), Array), ChainOf(site.Demo(), Battery), ChainOf(site.Demo(), Load)
	joint := ends(12.9, 11.9, FarDead)
	joint.CurrentA = 2
	tests := []struct {
		name     string
		chain    *Chain
		fault    Fault
		ends     Ends
		readings []told
	}{
		{"nothing but the ends", array, Open, ends(20, 0.1, FarDead), nil},
		{"a ghost", array, Open, ends(20, NoReading, FarDead), []told{{"array-switch-out", 14}}},
		{"a source not read", battery, Open, ends(NoReading, 0, FarDead), []told{{"battery-fuse-out", 12.2}}},
		{"readings at odds", battery, Open, ends(12.6, 0, FarDead), []told{{"battery-lug", 0.02}, {"battery-end", 12.5}}},
		{"fed nearly alike", battery, Open, ends(12.6, 13, FarFed), []told{{"battery-fuse-out", 12.8}}},
		{"a joint", load, Joint, joint, []told{{"load-switch-out", 12.5}}},
		{"a joint, one end", load, Joint, Ends{Source: 12.9, Sink: NoReading, Voltmeter: voltmeter, CurrentA: 2}, []told{{"load-joint-in", 12.0}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := tt.chain.Search(tt.fault, tt.ends)
			for _, r := range tt.readings {
				s = s.With(r.node, r.volts)
			}
			samples := 200_000
			if tt.fault == Joint {
				samples = 1_000_000
			}
			want := bruteForce(tt.chain, tt.fault, tt.ends, tt.readings, samples, rand.New(rand.NewPCG(3, 0)))
			require.NotEqual(t, want[0], want[len(want)-1])
			for i, p := range tt.chain.Parts {
				assert.InDelta(t, want[i], of(s, p.ID), 0.03, p.ID)
			}
		})
	}
}

// What a reading is expected to tell is what it tells on average: readings drawn from
// what is believed, the gain in bits of the part each is drawn with.
func TestWorthAgainstDraws(t *testing.T) {
	c := ChainOf(site.Demo(), Battery)
	joint := ends(12.9, 12.5, FarUnknown)
	joint.CurrentA = 3
	for name, s := range map[string]Search{
		"open":  c.Search(Open, ends(12.6, 0, FarDead)),
		"alike": c.Search(Open, ends(12.6, 12.8, FarFed)),
		"blind": c.Search(Open, ends(NoReading, NoReading, FarUnknown)),
		"joint": c.Search(Joint, joint),
	} {
		t.Run(name, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(5, 0))
			n, _ := c.Node("battery-fuse-out")
			prior := byPart(s.mixture, len(c.Parts))
			const draws = 2000
			var bits float64
			for range draws {
				drawn := s.mixture[choose(s.mixture, rng)]
				mean, variance := drawn.predict(n, c.ohmTo(n))
				volts := mean + math.Sqrt(variance)*rng.NormFloat64()
				switch u := rng.Float64(); {
				case u < noContact:
					volts = noContactSD * rng.NormFloat64()
				case u < noContact+slip:
					volts = c.expected.most * (2*rng.Float64() - 1)
				}
				posterior := byPart(s.With(n.ID, volts).mixture, len(c.Parts))
				bits += math.Log2(posterior[drawn.part]/prior[drawn.part]) / draws
			}
			assert.InDelta(t, bits, s.worth(n), 0.05)
		})
	}
}

func choose(list []component, rng *rand.Rand) int {
	u := rng.Float64()
	for i, c := range list {
		if u -= c.weight; u < 0 {
			return i
		}
	}
	return len(list) - 1
}
