package belief

import (
	"hash/fnv"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// outsider takes readings at a healthy plant that no plant of the model is: where the
// controller holds back it slowly switches on and off, each voltage read at a phase of its
// own; acid in layers lifts the rest voltage and not the loaded one; each current is
// read in a light of its own; the thermometer on the frame hardly feels the cells.
// Each reading has chances of its own, so that another reading elsewhere changes none of them.
func outsider(nth uint64, s *site.Site) *reading.Set {
	rng := rand.New(rand.NewPCG(20261130, nth))
	taken := reading.NewSet()
	taken.TakenAt = at(8 + rng.IntN(9))
	taken.LoadsOn = []string{s.Loads[0].Label}
	m := newModel(Input{Site: s, Readings: taken})
	e := &evaluator{m: m}
	z := fromPrior(rng)
	z[dMisfitV], z[dMisfitA] = 0, 0
	e.solve(&z, &m.hyps[0])
	const (
		swingV  = 0.1 // at 12 V
		layersV = 0.06
		lightBy = 0.05
		coolK   = 8
	)
	layers := layersV * rng.Float64()
	for _, spec := range reading.Specs {
		i, ok := plant.IndexOf(spec.Key)
		h := fnv.New64a()
		h.Write([]byte(spec.Key))
		rng := rand.New(rand.NewPCG(20261130^h.Sum64(), nth))
		if !ok || !reading.Offered(spec.Key, s) || spec.Key == reading.StepA || e.out.Floats[i] || rng.Float64() < 0.4 {
			continue
		}
		o := m.ask(spec)
		v := e.out.Value[i]
		switch i {
		case plant.BatteryV, plant.PostV, plant.LoadV, plant.ArrayV, plant.ModuleV:
			if e.out.Regulating {
				v += swingV * (2*rng.Float64() - 1)
			}
		case plant.RestV:
			v += layers
		case plant.ArrayA, plant.ShortA:
			v *= 1 + lightBy*rng.NormFloat64()
		case plant.BatteryA:
			v += lightBy * e.out.Value[plant.ArrayA] * rng.NormFloat64()
		case plant.ModuleC, plant.ModuleC2:
			v -= coolK * rng.Float64()
		}
		taken.Numbers[spec.Key] = v + o.instrument.StandardUncertainty(v)*rng.NormFloat64()
	}
	return taken
}

// Of healthy plants with physics that the model does not have few are called faulty, and
// fewer with certainty. Without a misfit it is 22 in 100, 13 of them with certainty; what is
// wanted is 3. The bounds only keep what there is, and chance moves the first by 3.
func TestPlantsOutsideTheModel(t *testing.T) {
	if testing.Short() {
		t.Skip("some hundred inferences")
	}
	plants := effort.Of(0, 30, 100)
	s := site.Demo()
	called, sure, wrong := 0, 0, 0
	for k := range plants {
		r, err := Infer(Input{Site: s, Readings: outsider(uint64(k), s)})
		if !assert.NoError(t, err) {
			return
		}
		for _, p := range r.Conditions {
			switch {
			case p.ID == "sound" && p.P > 0.9:
				sure++
			case p.ID != "sound" && p.P > 0.9:
				sure, wrong = sure+1, wrong+1
			}
			if p.ID != "sound" && p.P > 0.5 {
				called++
				t.Logf("plant %d: %s %.2f", k, p.ID, p.P)
			}
		}
	}
	t.Logf("%d of %d called faulty; above 0.9: %d, of which %d wrong", called, plants, sure, wrong)
	assert.LessOrEqual(t, float64(called), 0.10*float64(plants))
	assert.LessOrEqual(t, float64(wrong), 0.05*float64(plants))
}
