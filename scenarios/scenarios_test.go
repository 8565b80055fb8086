package scenarios

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
)

// The embedded scenarios are what the training needs: every condition, the
// ordinary states, four with two conditions, four with a misleading reading.
func TestEmbedded(t *testing.T) {
	list := Embedded()
	require.GreaterOrEqual(t, len(list), 30)
	seen, sites, levels := map[condition.ID]int{}, map[string]bool{}, map[int]int{}
	pairs, misleading := 0, 0
	for _, s := range list {
		for _, id := range s.Truth() {
			seen[id]++
		}
		if len(s.truth) == 2 {
			pairs++
		}
		lies := len(s.setup.Quirks) > 0
		for k := range s.setup.Looks {
			_, lamp := k.LampLabel() // a lamp's look is given only where it misleads
			lies = lies || lamp
		}
		if lies {
			misleading++
		}
		sites[s.Site.Name] = true
		levels[s.Level]++
	}
	for _, c := range condition.All() {
		assert.Positive(t, seen[c.ID], c.ID)
	}
	assert.GreaterOrEqual(t, pairs, 4)
	assert.GreaterOrEqual(t, misleading, 4)
	assert.GreaterOrEqual(t, len(sites), 6)
	assert.Len(t, levels, Levels)
}

// The ordinary states that look like faults to the untrained come up too, each
// told by what the plant then does (common practice).
func TestOrdinaryStates(t *testing.T) {
	states := map[string]func(light float64, sky string, o plant.Out) bool{
		"midday": func(light float64, _ string, o plant.Out) bool {
			return light > 800 && !o.Regulating && o.Value[plant.BatteryA] > 1
		},
		"held back": func(light float64, _ string, o plant.Out) bool { return light > 800 && o.Regulating },
		"overcast":  func(light float64, sky string, _ plant.Out) bool { return light > 9 && sky == "overcast" },
		"dusk":      func(light float64, _ string, _ plant.Out) bool { return light > 0 && light < 9 },
		"night":     func(light float64, _ string, o plant.Out) bool { return light == 0 && o.Value[plant.LoadA] > 0.5 },
		"run down":  func(_ float64, _ string, o plant.Out) bool { return o.LoadsCut && o.Value[plant.BatteryA] > 0 },
		"heavy loads": func(light float64, _ string, o plant.Out) bool {
			return light > 300 && o.Value[plant.ArrayA] > 1 && o.Value[plant.BatteryA] < 0
		},
	}
	for name, is := range states {
		assert.True(t, slices.ContainsFunc(Embedded(), func(s *Scenario) bool {
			b := s.Bench()
			light, _, _ := b.Conditions()
			sky, _ := b.Sees(reading.Sky)
			return len(s.truth) == 0 && s.Solvable && is(light, sky, s.first())
		}), name)
	}
}

// No name, title or story of a scenario says what is wrong.
func TestStoriesDoNotTell(t *testing.T) {
	for _, s := range Embedded() {
		assert.Empty(t, s.told(), s.ID)
		shown := strings.ToLower(s.ID + " " + s.Title + " " + s.Story)
		for _, c := range condition.All()[1:] {
			assert.NotContains(t, shown, string(c.ID), s.ID)
			assert.NotContains(t, shown, strings.ToLower(c.Title), s.ID)
		}
	}
}

// In every solvable scenario with a fault the fault acts on a reading; where none
// does, the scenario says that it cannot be solved.
func TestFaultsAct(t *testing.T) {
	unsolvable := 0
	for _, s := range Embedded() {
		assert.Equal(t, s.Solvable, s.acts(), s.ID)
		if !s.Solvable {
			unsolvable++
		}
	}
	assert.Positive(t, unsolvable, "one in which honest doubt is the answer")
}

// Ideal play names what is wrong in every embedded scenario marked solvable,
// safely and within the budget. Without AMPWALK_CI it plays some of them; to play a new
// one, use `ampwalk scenario check`.
func TestIdealPlay(t *testing.T) {
	if testing.Short() {
		t.Skip("plays every scenario")
	}
	every := effort.Of(0, 3, 1) // third scenario
	for i, s := range Embedded() {
		if i%every != 0 {
			continue
		}
		t.Run(s.ID, func(t *testing.T) {
			t.Parallel()
			p, err := Prove(s, belief.Infer)
			require.NoError(t, err)
			t.Log(strings.Join(p.Lines(), "\n"))
			assert.True(t, p.Play.Safe)
			assert.LessOrEqual(t, len(p.Play.Taken), MostReadings)
			assert.Equal(t, s.Solvable, p.Solved)
		})
	}
}

// A check says no more than the readings do: what is likeliest is not yet clear.
func TestProofSaysHowSure(t *testing.T) {
	truth := []condition.ID{condition.StringOpen}
	say := func(p float64, readings int) string {
		proof := Proof{Solved: p >= likely, Clear: p >= clearFrom, truth: truth}
		proof.Play.Taken = make([]Taken, readings)
		for i := range proof.Play.Taken {
			proof.Play.Taken[i].Key = reading.ArrayV
		}
		proof.Play.Belief = &belief.Result{Conditions: []belief.Posterior{{ID: condition.StringOpen, P: p}, {ID: condition.ArraySoiled, P: 1 - p}}}
		return strings.Join(proof.Lines()[readings:], " ")
	}
	assert.Equal(t, "Solvable: string-open is clear after 5 readings (One of the strings is open 97 %).", say(0.97, 5))
	assert.Equal(t, "Solvable, but not clear: string-open is the most likely after 5 readings, but they do not decide it "+
		"(One of the strings is open 60 %). It could also be: Dirt on the glass 40 %. No other reading at this moment is worth its effort.", say(0.6, 5))
	assert.Contains(t, say(0.6, MostReadings), "It could also be: Dirt on the glass 40 %. A practice has no more than these 14 readings")
	assert.Contains(t, say(0.3, 5), "Not solvable: string-open is not the most likely after 5 readings (One of the strings is open 30 %). It could also be: Dirt on the glass 70 %.")
}

// Where the array stands above what hands may touch, the informed order keeps
// away from it, and probes there count as unsafe.
func TestAboveTouch(t *testing.T) {
	s, text := siteOf("grey-tower")
	sc := *Generate(1, 3)
	sc.Site, sc.SiteTOML, sc.truth, sc.setup.LoadsOn, sc.setup.Quirks = s, text, nil, nil, nil
	p, err := Informed(&sc, cheap, MostReadings)
	require.NoError(t, err)
	assert.True(t, p.Safe)
	session := NewSession(&sc, "A", cheap)
	out := say(t, session, "look controller", "probe array")
	assert.Contains(t, out, "UNSAFE: Probes on more than 60 V")
}
