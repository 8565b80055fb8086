package belief

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// The quick likelihood of an instrument's readings is that of the full sum, also
// where a clamp's zero was not set and the readings taken after it was say so.
func TestQuickLikelihood(t *testing.T) {
	const shift = -0.2
	m := newModel(Input{Site: site.Demo(), Readings: set(at(11), map[reading.Key]float64{
		reading.ArrayA: 2.0 + shift, reading.LoadA: 1.3 + shift, reading.StandbyA: 0.02, reading.ShortA: 2.1,
	})})
	e := &evaluator{m: m}
	rng := rand.New(rand.NewPCG(4, 4))
	var unset int
	for range 3000 {
		z := fromPrior(rng)
		e.solve(&z, &m.hyps[0])
		for i := range m.obs { // near what was read, so that all is in question
			o := &m.obs[i]
			v := o.y + 0.05*rng.NormFloat64()
			if o.zero {
				v -= shift
			}
			e.out.Value[o.index] = v
		}
		for g := range m.groups {
			want := e.weigh(&m.groups[g], 0)
			if e.unset > 0.9 {
				unset++
			}
			assert.InDelta(t, want, e.logOf(&m.groups[g], 0), 0.5) // both take the likeliest ways for all, from different sides
		}
	}
	assert.Greater(t, unset, 1000)
}

// The likelihood is a number also where the steps from one combination of ways to the next
// go round and round: here voltages are too low by far and nearly alike, so that the errors
// of the instrument explain any few of them, but not all.
func TestLikelihoodIsANumber(t *testing.T) {
	f := fit{}
	for _, x := range []struct{ shown, value, variance float64 }{
		{11.64, 12.6338, 0.00167}, {11.68, 12.6785, 0.00168}, {11.30, 12.4685, 0.000233}, {11.28, 12.4634, 0.000233}, {-0.03, 12.4685, 0.000233},
		{19.36, 20.7130, 0.00409}, {10.74, 11.9990, 0.000233}, {10.74, 11.9990, 0.000333}, {10.63, 11.8120, 0.000233},
	} {
		o := &observation{y: x.shown, chances: [ways]float64{right: 0.995, wrong: 0.005}, wrong: 0.000414}
		f.readings = append(f.readings, fitted{o: o, value: x.value, variance: x.variance, design: vector{0.00462 * x.value, 0.0173}})
	}
	f.settle()
	assert.Falsef(t, math.IsNaN(f.lnL) || math.IsInf(f.lnL, 0), "%v", f.lnL)
	assert.Greater(t, f.lnL, float64(len(f.readings))*math.Log(0.005*0.000414/rootTwoPi), "all wrong")
}
