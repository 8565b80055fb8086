package scenarios

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// play goes through a guided practice with the answers of answer.
func play(t *testing.T, id string, answer func(g *Guided, p visiting.Prompt) visiting.Answer) practicelog.Result {
	t.Helper()
	return playBy(t, guided(t, id), cheap, answer)
}

// playBy is play with an inference.
func playBy(t *testing.T, g *Guided, infer visiting.Inferrer, answer func(g *Guided, p visiting.Prompt) visiting.Answer) practicelog.Result {
	t.Helper()
	for steps := 0; !g.Done(); steps++ {
		require.Less(t, steps, maxSteps)
		p := g.Prompt()
		a := answer(g, p)
		a.At, a.Repeats = g.Now(), p.Once
		require.NoError(t, g.Give(a))
		r, err := infer(g.Input())
		require.NoError(t, err)
		g.Learn(g.Seq(), r)
	}
	r, ended := g.Result(g.Now())
	require.True(t, ended)
	return r
}

// Who does what the visit asks, at the bench, has at least 90 points of 100 in every
// scenario. Who types the right figures without measuring, and says that all is ready,
// has 40 at most; and nobody passes a case by claims.
func TestGuidedScoresWhatWasDone(t *testing.T) {
	list := Embedded()
	for _, sc := range list[:effort.Of(4, len(list), len(list))] {
		ideal := play(t, sc.ID, func(g *Guided, p visiting.Prompt) visiting.Answer {
			if r := virtualsite.ReadyFor(p.Step.ID); r != "" {
				_, done := g.Measure("ready " + string(r))
				require.True(t, done)
			}
			return answered(g.Bench(), g.Visit, p)
		})
		assert.GreaterOrEqual(t, ideal.Score.Total, 90.0, sc.ID)
		other := sc.Bench() // another one like it, which tells the figures
		claims := play(t, sc.ID, func(g *Guided, p visiting.Prompt) visiting.Answer {
			a := answered(other, g.Visit, p)
			follow(other, p.Step, a)
			return a
		})
		assert.LessOrEqual(t, claims.Score.Total, 40.0, sc.ID)
		assert.False(t, claims.Passed, sc.ID)
		made := play(t, sc.ID, func(g *Guided, p visiting.Prompt) visiting.Answer {
			if r := virtualsite.ReadyFor(p.Step.ID); r != "" {
				g.Measure("ready " + string(r))
			}
			a := answered(other, g.Visit, p)
			return a
		})
		assert.LessOrEqual(t, made.Score.Total, 40.0, "%s: ready, but nothing measured", sc.ID)
	}
}

// The right part changed takes the fault away, a wrong one leaves it.
func TestGuidedRepair(t *testing.T) {
	for _, c := range condition.All()[1:] {
		i := slices.IndexFunc(Embedded(), func(s *Scenario) bool { return len(s.truth) == 1 && s.truth[0].id == c.ID })
		if i < 0 {
			continue
		}
		sc := Embedded()[i]
		var keys []string
		for _, a := range condition.OfSite(c.ID, sc.Site).Actions {
			if a.Done != "" {
				keys = append(keys, string(c.ID)+"/"+a.ID)
			}
		}
		if len(keys) == 0 {
			continue
		}
		right := sc.mends(c.ID)
		assert.Contains(t, keys, right, c.ID)
		for _, key := range keys {
			g := guided(t, sc.ID)
			before, _ := g.Bench().Truth()
			g.mend(visiting.Answer{Step: "mended", Kind: visiting.Did, Word: procedure.ActDone, Action: key})
			after, _ := g.Bench().Truth()
			if key != right {
				assert.Equal(t, before, after, "%s: %s is not what is broken", sc.ID, key)
				assert.Len(t, g.faults, 1)
				continue
			}
			assert.Empty(t, g.faults, sc.ID)
			assert.Equal(t, plant.Fault{}, sc.faulty(g.faults))
			g.mend(visiting.Answer{Step: "mended", Kind: visiting.Did, Word: procedure.ActNothing, Action: key})
		}
	}
	// An open array circuit that is mended charges again.
	sc, ok := ByID("no-charge-since-storm")
	require.True(t, ok)
	g := guided(t, sc.ID)
	before, _ := g.Bench().Truth()
	assert.False(t, before.Charging)
	g.mend(visiting.Answer{Step: "mended-array", Kind: visiting.Did, Word: procedure.ActDone, Action: sc.mends(condition.ArrayOpen)})
	after, _ := g.Bench().Truth()
	assert.True(t, after.Charging)
	d := take(g.Bench(), reading.ArrayA)
	assert.Greater(t, d.Reads, 1.0, "and the clamp shows it")
}
