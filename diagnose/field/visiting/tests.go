package visiting

import (
	_ "embed"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

//go:embed tests.toml
var testsFile []byte

// testTexts is tests.toml.
type testTexts struct {
	Why, Agrees, Against string
	Test                 []activeTest
}

// An activeTest changes one thing and watches the clamp.
type activeTest struct {
	Step  string
	Asks  string // the state that it asks about
	All   []string
	Needs []reading.Key
	Again reading.Key
	Like  string // a step that it does too
	Shows map[string]struct{ State, Text string }
}

var testWords = sync.OnceValue(func() testTexts {
	return datafile.Read[testTexts]("diagnose/field/visiting/tests.toml", testsFile)
})

// Between these probabilities of its state a test is asked for: beyond them it would hardly
// change what to do (choices of this project).
const (
	testFrom = 0.2
	testTo   = 0.8
)

// tests are the steps of the active tests that are worth asking for now: in a full visit, with
// nothing opened or repaired, where the readings leave the state in doubt that they ask about.
func (v *Visit) tests() (steps []string) {
	opened := slices.ContainsFunc([]procedure.Flag{
		procedure.LoadsOff, procedure.ArrayIsolated, procedure.BatteryIsolated, procedure.LoadStepOn, procedure.LeadOn, procedure.ArrayCovered,
	}, v.state.Has)
	if v.head.Depth != Full || v.latest == nil || opened || v.repairedAt() >= 0 || v.course.Leaving(v.state) {
		return nil
	}
	t := teller{v.site, v.latest, v.readings, ""}
	for _, test := range testWords().Test {
		p := t.p(test.Asks)
		if p < testFrom || p > testTo || v.state.Mark(test.Step) != procedure.Open || v.state.Mark(test.Like) == procedure.Missed {
			continue
		}
		unlikely := slices.ContainsFunc(test.All, func(id string) bool { return t.p(id) < namedFrom })
		if !unlikely && !slices.ContainsFunc(test.Needs, func(k reading.Key) bool { return !v.readings.Has(k) }) && v.course.Reaches(v.state, test.Step) {
			steps = append(steps, test.Step)
		}
	}
	return steps
}

// testing is the next step where a test is worth asking for: what can be read without
// switching anything off comes first, then the test; false where that is none.
func (v *Visit) testing() (procedure.Step, string, bool) {
	steps := v.tests()
	if len(steps) == 0 {
		return procedure.Step{}, "", false
	}
	by := v.search()
	worth := by.Worth
	by.Worth = func(k reading.Key) float64 {
		if s, ok := v.course.StepFor(k); !ok || s.Rung >= procedure.Isolate {
			return 0
		}
		return worth(k)
	}
	step, why, ok := v.course.Find(v.state, by, steps...)
	if slices.Contains(steps, step.ID) {
		why = testWords().Why
	}
	return step, why, ok && step.Rung < procedure.Isolate
}

// testTold is what the test answered last shows, held against the belief; nothing where the
// last answer is of no test, or it was not done.
func (v *Visit) testTold() Telling {
	last := v.lastStep()
	i := slices.IndexFunc(testWords().Test, func(t activeTest) bool { return t.Step == last })
	takes := v.Takes(last)
	if i < 0 || len(takes) == 0 || v.latest == nil {
		return Telling{}
	}
	test, chosen := testWords().Test[i], takes[len(takes)-1].Chosen
	if len(chosen) != 1 {
		return Telling{}
	}
	shows, ok := test.Shows[chosen[0]]
	if !ok {
		return Telling{}
	}
	t := teller{v.site, v.latest, v.readings, ""}
	p, form := t.p(shows.State), testWords().Agrees
	told := Telling{ID: test.Step}
	if p <= contradictedTo {
		form, told.Not = testWords().Against, test.Again
	}
	told.Text = strings.NewReplacer("{text}", shows.Text, "{p}", quantity.Percent(p), "{again}", asWithin(Title(v.course, test.Again))).Replace(form)
	return told
}
