package belief

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

type numbers = map[reading.Key]float64

// smallCases are readings few enough for a plain average over the prior to meet
// them often, from all parts of a system and all times of a day.
var smallCases = []struct {
	name    string
	hour    int
	numbers numbers
	words   map[reading.Key]string
}{
	{"nothing at the array by day", 12, numbers{reading.ArrayV: 0.1}, nil},
	{"dark", 22, numbers{reading.ArrayV: 0, reading.BatteryV: 12.3}, nil},
	{"current in the sun", 12, numbers{reading.Irradiance: 800, reading.ArrayA: 3.2}, nil},
	{"dusty", 10, numbers{reading.ArrayA: 2}, words{reading.Glass: "dusty", reading.Sky: "clear"}},
	{"at the set-point", 12, numbers{reading.BatteryV: 14.4}, nil},
	{"at the float set-point", 15, numbers{reading.BatteryV: 13.7}, nil},
	{"a low battery by day", 9, numbers{reading.BatteryV: 12.0}, nil},
	{"an empty battery at night", 21, numbers{reading.BatteryV: 11.0}, nil},
	{"no current under a clear sky", 11, numbers{reading.ArrayA: 0}, words{reading.Sky: "clear"}},
	{"little current under a clear sky", 11, numbers{reading.ArrayA: 0.6}, words{reading.Sky: "clear"}},
	{"full current", 12, numbers{reading.ArrayA: 5}, nil},
	{"charging", 12, numbers{reading.BatteryA: 3}, nil},
	{"discharging by day", 12, numbers{reading.BatteryA: -1}, nil},
	{"a trickle at the set-point", 14, numbers{reading.BatteryA: 0.3, reading.BatteryV: 14.2}, nil},
	{"charge and loads", 13, numbers{reading.BatteryA: 1.2, reading.ArrayA: 2}, nil},
	{"the array alone", 10, numbers{reading.OpenV: 19.5}, nil},
	{"half the array's voltage", 10, numbers{reading.OpenV: 10.5}, nil},
	{"a battery at rest", 7, numbers{reading.RestV: 12.2}, nil},
	{"rest and posts", 7, numbers{reading.RestV: 12.7, reading.PostV: 12.6}, nil},
	{"a step on a rested battery", 6, numbers{reading.RestV: 12.5, reading.StepA: 5, reading.StepPostV: 12.1}, nil},
	{"no voltage for the loads", 10, numbers{reading.LoadV: 0}, nil},
	{"voltage and no current for the loads", 19, numbers{reading.LoadA: 0, reading.LoadV: 12.4}, nil},
	{"a draw with all off", 20, numbers{reading.StandbyA: 0.12}, nil},
	{"the wrong way round", 12, numbers{reading.ArrayV: -20}, nil},
	{"dead at the controller, live at the plug", 11, numbers{reading.ModuleV: 19, reading.ArrayV: 0.05}, nil},
	{"charging, three readings", 10, numbers{reading.ArrayV: 13.4, reading.BatteryV: 13.2, reading.ArrayA: 2.1}, nil},
	{"a live battery, a dead controller", 10, numbers{reading.PostV: 12.6, reading.BatteryV: 0.1}, nil},
	{"a drop in the battery's wires", 10, numbers{reading.PostV: 12.6, reading.BatteryV: 12.1}, nil},
	{"little current at full voltage", 13, numbers{reading.PostV: 14.4, reading.ArrayA: 1}, nil},
	{"too high a voltage", 13, numbers{reading.PostV: 14.9}, nil},
	{"a drop in the load wires", 19, numbers{reading.LoadV: 12.4, reading.LoadEndV: 10.9}, nil},
	{"a clear sky and clean glass", 9, nil, words{reading.Sky: "clear", reading.Glass: "clean", reading.Shade: "none"}},
}

type words = map[reading.Key]string

// The evidence of every hypothesis that counts, the mean of some seeds, against a plain
// average of the likelihood over draws from the prior, the instruments' errors and the
// ways of a reading drawn like all else. That needs no modes, no proposal and no
// integral to be right. How far one seed strays from their mean is bounded over all cases.
func TestEvidenceAgainstBruteForce(t *testing.T) {
	if testing.Short() {
		t.Skip("some million plants")
	}
	const (
		draws  = 150_000
		seeds  = 4
		noise  = 0.1 // nat, root of the mean square
		within = 0.1 // nat, beyond three standard errors of the brute force
		counts = 2.5 // nats below the best up to which a hypothesis is compared
	)
	var squares, degrees float64 // of what one seed strays
	every := effort.Of(0, 4, 1)  // fourth case, spread over the list
	for i, tt := range smallCases {
		if i%every != 0 {
			continue
		}
		t.Run(tt.name, func(t *testing.T) {
			s := set(at(tt.hour), tt.numbers)
			for k, w := range tt.words {
				s.Words[k] = w
			}
			var m *model
			var runs [seeds][]float64
			for i := range runs {
				m = newModel(Input{Site: site.Demo(), Readings: s})
				m.seed += uint64(i)
				_, runs[i] = m.cloud(m.modes())
			}
			here := make([]float64, len(m.hyps))
			for k := range here {
				for _, run := range runs {
					here[k] += run[k] / seeds
				}
			}
			best := slices.Max(here)
			for k, mean := range here {
				if mean < best-counts {
					continue
				}
				for _, run := range runs {
					squares += square(run[k] - mean)
				}
				degrees += seeds - 1
			}
			m.share(len(m.hyps), func(e *evaluator, k int) {
				h := &m.hyps[k]
				if here[k] < best-counts {
					return
				}
				rng := rand.New(rand.NewPCG(1, uint64(k)))
				var sum, squares float64
				for range draws {
					z := fromPrior(rng)
					e.solve(&z, h)
					l := math.Exp(e.given(&z) + e.logWords(h) + m.lnLatch(&z))
					sum += l
					squares += l * l
				}
				brute := h.lnPrior + math.Log(sum/draws)
				spread := math.Sqrt(squares-sum*sum/draws) / sum
				assert.InDelta(t, brute, here[k], within+3*spread, "%v, brute force ± %.2f", h.ids, spread)
			})
		})
	}
	assert.Less(t, math.Sqrt(squares/degrees), noise)
	t.Logf("one seed strays by %.3f nat", math.Sqrt(squares/degrees))
}
