package main

import (
	"fmt"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios"
	"ampwalk/scenarios/virtualsite"
)

// A learner goes through a guided practice in a terminal: the meters show what is
// to be typed.
type learner struct {
	*terminal
	bench *virtualsite.Bench // of its own, to see with
	steps []procedure.Step
}

const lesson = "quiet-lamps"

func learning(t *testing.T, more ...string) *learner {
	t.Helper()
	if testing.Short() {
		t.Skip("a whole visit")
	}
	needTmux(t)
	t.Parallel()
	sc, ok := scenarios.ByID(lesson)
	require.True(t, ok)
	args := append([]string{os.Args[0], "practice", "--guided", "--scenario", lesson, "--who", "A. Trainee"}, more...)
	return &learner{openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), args...), sc.Bench(), procedure.For(sc.Site).Steps}
}

// knows is what a learner answers without an instrument.
func (l *learner) knows(s procedure.Step) string {
	switch {
	case s.Kind != procedure.Take:
		return goodWord(s, "all")
	case s.Reading == reading.Minutes:
		return "45"
	case s.Reading == reading.PackPercent:
		x, _, _ := l.bench.Right(s.Reading)
		return fmt.Sprintf("%.0f", x)
	}
	saw, _ := l.bench.Sees(s.Reading)
	return saw
}

// shows is what the display showed last.
func (l *learner) shows(said string) string {
	l.t.Helper()
	shown := displayed.FindAllStringSubmatch(said, -1)
	require.NotEmpty(l.t, shown, said)
	return strings.TrimSpace(shown[len(shown)-1][1])
}

// ends checks what is left on the terminal after one reading was caught.
func (l *learner) ends() {
	l.t.Helper()
	assert.Equal(l.t, "0", l.exit())
	all := l.everything()
	for _, text := range []string{"VISIT SUMMARY", "What it was: The load circuit is open", "Wrong readings caught: 1.", "The probabilities in percent", "Saved: "} {
		assert.Contains(l.t, all, text)
	}
}

// A guided practice played whole on the full screen. What a step asks for is read
// at the bench and typed; a reading with the wrong sign is caught and talked about.
func TestTerminalGuidedToTheEnd(t *testing.T) {
	l := learning(t)
	l.through(func(step procedure.Step, answer string) {
		if step.Reading == reading.BatteryV {
			l.enter("-" + answer)
			l.waitFor("Doubtful:", "its sign is not")
			l.keys("Escape")
			l.waitFor("> -" + answer + "_")
			l.keys(slices.Repeat([]string{"BSpace"}, len("-"+answer))...)
		}
	})
	l.keys("Enter")
	l.waitFor("DEBRIEF", "What it was: The load circuit is open", "safety", "more")
	l.keys("End")
	l.waitFor("What to learn: ")
	l.keys("Enter")
	l.ends()
}

// onceMore stands before the title of a step whose reading is asked again.
const onceMore = "Once more: "

// through answers each step to the summary; first gives what is done before an answer.
func (l *learner) through(first func(procedure.Step, string)) {
	l.t.Helper()
	for last, n := "", 0; ; n++ {
		require.Less(l.t, n, maxSteps)
		var step procedure.Step
		var title string
		screen := l.wait("another step than "+last, func(s string) bool {
			found, ok := asked(l.steps, strings.ReplaceAll(s, onceMore, ""))
			if step, title = found, found.Title; strings.Contains(s, onceMore+title) {
				title = onceMore + title
			}
			if strings.Contains(s, "Doubtful:") { // by the site, not by the bench: it stays
				l.keys("Enter")
				s = l.wait("the doubt's end", func(s string) bool { return !strings.Contains(s, "Doubtful:") }) // a second Enter would answer the next step
			}
			return ok && title != last || strings.Contains(s, "Summary of the visit")
		})
		if strings.Contains(screen, "Summary of the visit") {
			return
		}
		last = title
		if _, _, between := step.Reading.Node(); between { // the bench has no places between two parts
			l.keys("F2")
			l.waitFor("no access")
			l.keys("1", "Enter")
			continue
		}
		answer := l.knows(step)
		if len(atBench[step.Reading]) > 0 {
			answer = l.atBench(step)
		}
		first(step, answer)
		l.answer(step, answer)
	}
}

// atBench does there what the reading of a step needs, and gives what the display
// shows at last.
func (l *learner) atBench(s procedure.Step) string {
	l.t.Helper()
	l.keys("F11")
	screen := l.waitFor("The bench", "What do you do?")
	do := func(typed string) {
		l.keys("/")
		l.waitFor("Type it")
		l.enter(typed)
		screen = l.waitFor("> "+typed, "What do you do?")
	}
	todo := atBench[s.Reading]
	for _, typed := range todo {
		do(typed)
	}
	if last := todo[len(todo)-1]; l.shows(screen) == "OL" { // once more, in a wider range
		do(wider(last))
		l.keys("/")
		l.waitFor("Type it")
		l.enter(last)
		screen = l.wait("another display", func(s string) bool {
			shown := displayed.FindAllStringSubmatch(s, -1)
			return strings.Contains(s, "What do you do?") && len(shown) > 0 && strings.TrimSpace(shown[len(shown)-1][1]) != "OL"
		})
	}
	l.keys("F11")
	l.waitFor("f11: read it")
	return l.shows(screen)
}

var (
	stepLine = regexp.MustCompile(`(?m)^Step: (.*) \(`)
	askLine  = regexp.MustCompile(`(?m)^(Your answer .*help:|Please check:)`)
)

// The same line by line.
func TestTerminalGuidedLineByLine(t *testing.T) {
	l := learning(t, "--plain")
	asked := 0
	hear := func() (all string) { // until something is asked again
		l.wait("a question", func(string) bool {
			all = l.everything()
			return len(askLine.FindAllString(all, -1)) > asked || strings.Contains(all, "Saved: ")
		})
		asked = len(askLine.FindAllString(all, -1))
		return all
	}
	for all, n := hear(), 0; !strings.Contains(all, "Saved: "); n++ {
		require.Less(t, n, maxSteps)
		told := stepLine.FindAllStringSubmatch(all, -1)
		title := told[len(told)-1][1]
		i := slices.IndexFunc(l.steps, func(s procedure.Step) bool { return s.Title == title })
		require.GreaterOrEqual(t, i, 0, title)
		step := l.steps[i]
		answer := l.knows(step)
		for _, do := range atBench[step.Reading] {
			l.enter(do)
			all = hear()
		}
		if len(atBench[step.Reading]) > 0 {
			answer = l.shows(all)
		}
		if step.Reading == reading.BatteryV {
			l.enter("-" + answer)
			assert.Contains(t, strings.Join(strings.Fields(hear()), " "), "its sign is not. See where red is")
		}
		l.enter(answer)
		all = hear()
	}
	l.ends()
}
