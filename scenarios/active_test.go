package scenarios

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/scenarios/virtualsite"
)

// Done at the bench, an active test shows what is so, in the scenarios whose fault it asks
// about and in sound ones; and all is put back.
func TestActiveTestsAtTheBench(t *testing.T) {
	seen := map[string]bool{}
	for _, sc := range Embedded() {
		b := sc.Bench()
		b.Ask()
		o, _ := b.Truth()
		daylight, truth := o.Daylight && o.Charging, sc.Truth()
		for id, test := range activeTests {
			step, has := procedure.For(sc.Site).Step(id)
			if !has || !daylight && id != "test-one-load" || len(truth) > 1 {
				continue
			}
			b := sc.Bench()
			b.Ask()
			got := test(b)
			require.Len(t, testAnswer(step, got), 1, "%s: %s", id, got)
			seen[id+" "+got] = true
			assert.True(t, b.Put(), "%s: %s", sc.ID, id)
			switch {
			case id == "test-load-up" && got == "rose":
				assert.True(t, o.Regulating, "%s: only what was held back can rise", sc.ID)
			case id == "test-shade" && truth[0] == condition.StringOpen:
				assert.Equal(t, "one-does-not", got, sc.ID)
			case id == "test-one-load" && truth[0] == condition.StandbyDrain && sc.Site.Controller.LoadOutput:
				assert.NotEqual(t, "one-draws-more", got, sc.ID)
			}
		}
	}
	for _, want := range []string{"test-load-up rose", "test-load-up same", "test-shade each-falls", "test-one-load as-labelled"} {
		assert.True(t, seen[want], "%s: of %v", want, seen)
	}
}

// In a guided practice an active test counts as made where the clamp was read before and
// after, with the loads put back; who only answers has claimed it.
func TestGuidedActiveTest(t *testing.T) {
	answer := func(g *Guided) {
		step, ok := g.Procedure().Step("test-load-up")
		require.True(t, ok)
		a := visiting.Answer{Step: step.ID, Kind: visiting.Did, Word: procedure.ActDone}
		a.Choose(testAnswer(step, "rose"))
		g.count(a)
	}
	g := guided(t, "morning-round")
	answer(g)
	assert.Equal(t, [2]int{0, 1}, [2]int{g.made, g.unmade}, "only claimed")
	g = guided(t, "morning-round")
	for _, typed := range []string{"ask", "zero", "clamp array-wire", "loads all", "zero", "clamp array-wire"} {
		_, err := g.bench.Do(typed)
		require.NoError(t, err)
	}
	answer(g)
	assert.Equal(t, 1, g.unmade, "the loads are not put back")
	for _, typed := range []string{"zero", "clamp array-wire", "loads as-found", "zero", "clamp array-wire"} {
		_, err := g.bench.Do(typed)
		require.NoError(t, err)
	}
	answer(g)
	assert.Equal(t, [2]int{1, 1}, [2]int{g.made, g.unmade})
	_, done := g.Measure("loads none")
	assert.False(t, done, "loads are switched where a test asks for it")
}

// What is typed of a board over a module is understood, or refused with what is expected.
func TestShadeByCommand(t *testing.T) {
	sc, ok := ByID("morning-round")
	require.True(t, ok)
	s := NewSession(sc, "", cheap)
	for _, wrong := range []string{"shade", "shade 0", "shade 99", "shade roof"} {
		_, err := s.Do(wrong)
		assert.ErrorIs(t, err, errUnknown, wrong)
	}
	lines, err := s.Do("shade 1")
	require.NoError(t, err)
	assert.Contains(t, lines[0], "a board over module 1")
	lines, err = s.Do("shade off")
	require.NoError(t, err)
	assert.Equal(t, words().Session.NothingOpen, lines[0])
}

// While a visit asks for an active test its bench offers what the test changes, and a visit
// that is played through with one scores as one without it.
func TestGuidedVisitAsksForTest(t *testing.T) {
	doubt := func(in belief.Input) (*belief.Result, error) {
		r, err := cheap(in)
		r.State.Daylight, r.State.Charging, r.State.Regulating = 1, 1, 0.5
		return r, err
	}
	sc, ok := ByID("full-by-noon")
	require.True(t, ok)
	g, err := NewGuided(sc, "", doubt)
	require.NoError(t, err)
	asked := false
	r := playBy(t, g, doubt, func(g *Guided, p visiting.Prompt) visiting.Answer {
		if r := virtualsite.ReadyFor(p.Step.ID); r != "" {
			g.Measure("ready " + string(r))
		}
		a := answered(g.Bench(), g.Visit, p)
		if p.Step.ID == "test-load-up" {
			asked = true
			menu := g.MeasureMenu()
			assert.Equal(t, "switch", menu[len(menu)-1].ID)
			_, done := g.Measure("shade off")
			assert.True(t, done)
			assert.Equal(t, []string{"rose"}, a.Chosen, "it is held back there")
			assert.Contains(t, p.Step.Do, "loads as-found")
		}
		return a
	})
	require.True(t, asked)
	assert.Zero(t, g.unmade)
	assert.GreaterOrEqual(t, r.Score.Total, 90.0)
}
