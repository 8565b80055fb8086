package scenarios

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

func guided(t *testing.T, id string) *Guided {
	t.Helper()
	sc, ok := ByID(id)
	require.True(t, ok)
	g, err := NewGuided(sc, "A. Trainee", cheap)
	require.NoError(t, err)
	return g
}

// prompt is the step that takes k, as it will be asked.
func (g *Guided) prompt(k reading.Key) visiting.Prompt {
	step, _ := g.Visit.Procedure().StepFor(k)
	spec, _ := reading.SpecOf(k)
	return visiting.Prompt{Step: step, Spec: spec}
}

// A wrong reading is caught and talked about, by what may have gone wrong.
func TestGuidedCatches(t *testing.T) {
	g := guided(t, "morning-round")
	shown := func(line string) string {
		lines, done := g.Measure(line)
		require.True(t, done)
		return strings.TrimPrefix(lines[0], "The display shows: ")
	}
	wrong := func(k reading.Key, typed string) string {
		_, err := g.Read(g.prompt(k), typed)
		if err == nil {
			return ""
		}
		return err.Error()
	}
	w := words().Guided
	assert.Equal(t, w.NotTaken, wrong(reading.BatteryV, "12.0"))
	assert.Equal(t, w.NotZeroed, wrong(reading.ArrayA, strings.TrimSuffix(shown("clamp array-wire"), " A")))
	shown("zero")
	right := shown("clamp array-wire")
	assert.Equal(t, w.Turned, wrong(reading.ArrayA, "-"+right))
	assert.Empty(t, wrong(reading.ArrayA, right))
	right = shown("probe post")
	assert.Equal(t, w.Exchanged, wrong(reading.PostV, "-"+right))
	x, err := quantity.Parse(right, quantity.Volt)
	require.NoError(t, err)
	assert.Equal(t, w.Off, wrong(reading.PostV, quantity.Format(x+1, quantity.Volt)))
	_, err = g.ReadAnyway(g.prompt(reading.PostV), quantity.Format(x+1, quantity.Volt))
	assert.NoError(t, err, "who insists has it kept")
	assert.Equal(t, w.Look, wrong(reading.Sky, "overcast"))
	assert.Empty(t, wrong(reading.Sky, "clear"))
	loads := func(labels ...string) string {
		return g.wrong(visiting.Answer{Step: loadsOnStep, Kind: visiting.Took, Chosen: labels})
	}
	assert.Empty(t, loads(g.Bench().LoadsOn()...))
	assert.Equal(t, w.Loads, loads("no such load"))
	_, done := g.Measure("13.1")
	assert.False(t, done, "an answer is not done at the bench")
	lines, done := g.Measure("meter dc-volts 7")
	assert.True(t, done)
	assert.Contains(t, lines[0], "Problem: ")
	lines, _ = g.Measure("bench")
	assert.Contains(t, strings.Join(lines, "\n"), "probe array+ array-")
	_, done = g.Measure("name sound")
	assert.False(t, done)
}

// A careful trainee goes through a whole guided practice; what the steps ask for
// is done at the bench.
func TestGuidedToTheEnd(t *testing.T) {
	g := guided(t, "no-charge-since-storm")
	assert.Nil(t, g.Debrief(78), "there is none before the end")
	_, ended := g.Result(g.Now())
	assert.False(t, ended)
	steps := 0
	for ; !g.Done(); steps++ {
		require.Less(t, steps, 200)
		p := g.Prompt()
		if r := virtualsite.ReadyFor(p.Step.ID); r != "" {
			assert.Equal(t, !g.Bench().IsReady(r), strings.Contains(p.Step.Do, "ready "+string(r)), p.Step.Do)
			g.Measure("ready " + string(r))
		}
		a := answered(g.Bench(), g.Visit, p)
		a.At = g.Now()
		if p.Step.Kind == procedure.Take {
			require.Empty(t, g.wrong(a), p.Step.ID)
		}
		require.NoError(t, g.Give(a))
		if r, err := cheap(g.Input()); err == nil {
			g.Learn(g.Seq(), r)
		}
		if p.Step.ID == "array-isolate" {
			assert.True(t, g.Bench().State().Array)
		}
	}
	assert.False(t, g.Bench().State().Array, "put back")
	assert.True(t, g.Bench().Put())
	assert.Empty(t, g.Bench().Breaches())
	r, ended := g.Result(g.Now())
	require.True(t, ended)
	assert.Len(t, r.Truth, 1)
	assert.Equal(t, practicelog.WithGuide, r.Mode)
	assert.InDelta(t, 100, r.Score.Total, 1e-9)
	assert.Contains(t, strings.Join(g.Debrief(78), "\n"), "What it was: The array circuit is open")
}
