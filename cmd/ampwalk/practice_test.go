package main

import (
	"fmt"
	"io"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios"
	"ampwalk/scenarios/virtualsite"
	"ampwalk/tui/plain"
)

// A free practice on the full screen by keys alone, and what is left on the
// terminal after it.
func TestTerminalPractice(t *testing.T) {
	needTmux(t)
	t.Parallel()
	data := t.TempDir()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(data), os.Args[0], "practice", "--scenario", "quiet-lamps", "--who", "A. Trainee")
	title := term.value("pane_title")
	term.waitFor("Quiet lamps", "What do you do?", "1 Look")
	term.keys("1", "Enter", "1", "Enter")
	term.waitFor("> look array", "The sky is clear.")
	term.keys("Escape") // alone, or with the next key it would be another one
	term.waitFor("What do you do?")
	term.keys("2", "Enter", "5", "Enter")
	term.waitFor("> probe load", "The display shows: ")
	term.keys("Escape")
	term.waitFor("What do you do?")
	term.keys("/")
	term.waitFor("Type it")
	term.enter("clamp load-wire")
	term.waitFor("> clamp load-wire")
	term.keys("5", "Enter", "1", "Enter")
	term.waitFor("What does this show")
	term.keys("1", "Enter")
	term.waitFor("> answer 1")
	term.keys("Escape")
	term.waitFor("What do you do?")
	term.keys("8", "Enter", "1", "Enter", "6", "Enter")
	term.waitFor("> weigh sound 75", "Noted.", "Say what you believe")
	term.keys("Escape")
	term.waitFor("What do you do?")
	term.keys("9", "Enter", "2", "Enter")
	term.waitFor("Hint 1 of 3")
	term.keys("Escape")
	term.waitFor("What do you do?")
	term.resize(140, 45)
	term.waitFor("Multimeter: DC volts", "Loads on: ")
	term.resize(60, 20)
	term.waitFor("What do you do?")
	term.resize(80, 24)
	term.keys("/")
	term.enter("name array-open")
	for _, ask := range []string{"light on the array", "charge reach", "held back", "How full", "work as it should", "good time"} {
		term.waitFor(ask)
		term.keys("1", "Enter")
	}
	term.waitFor("What must be done first?", "No: name it again")
	term.keys("1", "Enter")
	assert.Equal(t, title, term.value("pane_title"), "the window's title says nothing")
	term.waitFor("DEBRIEF", "What it was: The load circuit is open")
	term.keys("Enter")
	term.wait("the result", func(string) bool { return strings.Contains(term.everything(), "Saved: ") })
	assert.Contains(t, term.everything(), "What to learn: ")

	term = openTerminal(t, 80, 24, t.TempDir(), quick(data), os.Args[0], "practice", "results")
	term.wait("the results", func(string) bool { return strings.Contains(term.everything(), "A. Trainee") })
}

// The same line by line.
func TestTerminalPracticeLineByLine(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0], "practice", "--plain", "--level", "1", "--seed", "5")
	term.waitFor("What do you do?")
	for _, l := range []string{"look controller", "probe post", "clamp battery-wire", "light"} {
		term.enter(l)
	}
	term.waitFor("Your answer, a number:")
	for _, l := range []string{"1", "loads none", "array open", "wait 30", "probe post", "believe sound 60 array-open 20", "hint", "array close", "loads as-found", "name sound", "1", "2", "3", "4", "5", "1"} {
		term.enter(l)
	}
	term.waitFor("What must be done first? A number:")
	all := term.everything()
	assert.Contains(t, all, "UNSAFE: Loads off without asking")
	assert.Contains(t, all, "Hint 1 of 3")
	term.enter("1")
	term.wait("the result", func(string) bool { return strings.Contains(term.everything(), "Saved: ") })
	assert.Contains(t, term.everything(), "DEBRIEF")
}

// A guided practice on the full screen: the bench stands over the question.
func TestTerminalGuided(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0], "practice", "--guided", "--scenario", "quiet-lamps")
	term.waitFor("Permission", "Bench")
	term.keys("F11")
	term.waitFor("The bench", "1 Look")
	term.keys("1", "Enter", "3", "Enter")
	term.waitFor("> look battery", "No heat")
	term.keys("F11")
	term.waitFor("Do they agree?")
	term.keys("F10")
	term.waitFor("Leave the visit?")
	term.keys("F10")
	term.exit()
}

// A trainee goes through a guided practice line by line, measuring each reading
// at the bench and typing what the display shows.
type trainee struct {
	g    *scenarios.Guided
	said *strings.Builder
	todo []string // what is done at the bench before the answer
	step string
	n    int
}

func (p *trainee) Read(b []byte) (int, error) {
	if p.n++; p.n > 600 {
		return 0, io.EOF
	}
	return copy(b, p.next()+"\n"), nil
}

// atBench is what is typed at the bench for a reading.
var atBench = map[reading.Key][]string{
	reading.Irradiance: {"light"}, reading.Irradiance2: {"light"}, reading.AirC: {"warm air"}, reading.BatteryC: {"warm battery"},
	reading.ModuleC: {"warm module"}, reading.ModuleC2: {"warm module"}, reading.Gravity: {"acid"},
	reading.ArrayA: {"zero", "clamp array-wire"}, reading.BatteryA: {"zero", "clamp battery-wire"}, reading.LoadA: {"zero", "clamp load-wire"},
	reading.StandbyA: {"zero", "clamp battery-wire"}, reading.StepA: {"zero", "clamp battery-wire"}, reading.ShortA: {"zero", "clamp array-wire"},
	reading.ArrayV: {"meter dc-volts 200", "probe array"}, reading.ModuleV: {"probe module"}, reading.OpenV: {"probe array-side"},
	reading.BatteryV: {"meter dc-volts 20", "probe controller-battery"}, reading.PostV: {"meter dc-volts 20", "probe post"},
	reading.RestV: {"meter dc-volts 20", "probe post"}, reading.StepPostV: {"meter dc-volts 20", "probe post"},
	reading.LoadV: {"meter dc-volts 20", "probe load"}, reading.LoadEndV: {"meter dc-volts 20", "probe load-end"}, reading.BlockV: {"probe block"},
	reading.StepBlockV: {"probe block"},
}

// wider is what is typed for a wider range, after a reading that did not fit the display.
func wider(taken string) string {
	if strings.HasPrefix(taken, "clamp") {
		return "range 200"
	}
	return "meter dc-volts 200"
}

var displayed = regexp.MustCompile(`The display shows: (.*)`)

func (p *trainee) next() string {
	s := p.g.Prompt().Step
	if s.ID != p.step {
		p.step, p.todo = s.ID, atBench[s.Reading]
		if r := virtualsite.ReadyFor(s.ID); r != "" {
			p.todo = []string{"ready " + string(r)}
		}
	}
	switch {
	case len(p.todo) > 0:
		do := p.todo[0]
		p.todo = p.todo[1:]
		return do
	case s.Kind != procedure.Take:
		return goodWord(s, "all")
	case atBench[s.Reading] != nil:
		shown := displayed.FindAllStringSubmatch(p.said.String(), -1)
		value, todo := shown[len(shown)-1][1], atBench[s.Reading]
		if last := todo[len(todo)-1]; value == "OL" { // once more, in a wider range
			p.todo = []string{last}
			return wider(last)
		}
		return value
	case s.Reading == reading.Minutes:
		return "45"
	case s.Reading == reading.PackPercent:
		x, _, _ := p.g.Bench().Right(s.Reading)
		return fmt.Sprintf("%.0f", x)
	}
	saw, _ := p.g.Bench().Sees(s.Reading)
	return saw
}

// guidedThrough is all that is said in a guided practice on sc, and the practice.
func guidedThrough(t *testing.T, sc *scenarios.Scenario) (string, *scenarios.Guided) {
	said, _, g := guidedTyped(t, sc)
	return said, g
}

// guidedTyped is guidedThrough with what the trainee typed.
func guidedTyped(t *testing.T, sc *scenarios.Scenario) (_, typed string, _ *scenarios.Guided) {
	t.Helper()
	g, err := scenarios.NewGuided(sc, "A. Trainee", cheap)
	require.NoError(t, err)
	var said, hand strings.Builder
	done, err := plain.Run(plain.Options{
		Visit: g, Infer: cheap, Summary: func() string { return summary.OfVisit(g.Visit).Text() }, Now: g.Now,
		In: io.TeeReader(&trainee{g: g, said: &said}, &hand), Out: &said,
	})
	require.NoError(t, err)
	require.True(t, done, "%s", said.String()[max(0, said.Len()-3000):])
	return said.String(), hand.String(), g
}

func TestGuidedLineByLine(t *testing.T) {
	sc, ok := scenarios.ByID(lesson)
	require.True(t, ok)
	said, g := guidedThrough(t, sc)
	r, ended := g.Result(g.Now())
	require.True(t, ended)
	assert.Empty(t, r.Breaches)
	assert.Zero(t, r.Caught, said)
	assert.InDelta(t, 100, r.Score.Total, 1e-9)
	assert.True(t, g.Bench().Put())
}

// Up to its summary a guided practice says the same to the last letter, whichever
// fault acts on no reading at that moment.
func TestGuidedLineByLineLeaksNothing(t *testing.T) {
	const night = `title = "A case"
story = "It is dark."
level = 1
seed = 1
solvable = true
learn = "Look."
hints = ["a", "b", "c"]
site = "river-bend"
[moment]
at = 2026-04-14T21:30:00+03:00
charge = 0.5
light = 1
air_c = 20
loads_on = ["shop lamps", "music", "phone charging"]
[visible]
complaint = ["none"]
changed = ["none"]
`
	play := func(fault string) string {
		sc, err := scenarios.Parse("case", "case", []byte(night+fault), scenarios.SiteText)
		require.NoError(t, err)
		said, _ := guidedThrough(t, sc)
		return said
	}
	sound := play("")
	assert.Contains(t, sound, "The display shows: ")
	for _, id := range []string{"set-point-low", "charge-path-stuck", "string-open", "array-aged"} {
		assert.Equal(t, sound, play("[[condition]]\nid = \""+id+"\"\n"), id)
	}
}

// What is listed and shown of scenarios before they are practised names no
// condition.
func TestListTellsNothing(t *testing.T) {
	var out strings.Builder
	a := &app{stdout: &out, stderr: &out, getenv: func(string) string { return "" }, now: time.Now, infer: cheap}
	require.Equal(t, exitDone, a.run([]string{"practice", "list"}))
	require.Equal(t, exitDone, a.run([]string{"practice", "results", "--data", t.TempDir()}))
	for _, sc := range scenarios.Embedded() {
		require.Contains(t, out.String(), sc.ID)
		a.tellScenario(sc)
	}
	for _, c := range condition.All()[1:] {
		assert.NotContains(t, out.String(), string(c.ID))
		assert.NotContains(t, strings.ToLower(out.String()), strings.ToLower(c.Title))
	}
}
