package main

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/scenarios"
)

// A trainee's days: the whole course line by line, from the first lesson to the last. Each
// start explains the lesson of the next case and plays it to its end, be it guided, on one's
// own, or the sheet of the lesson as a quiz. The results say where the trainee stands.
func TestCourseLineByLine(t *testing.T) {
	if testing.Short() {
		t.Skip("thirty-six cases")
	}
	dir := t.TempDir()
	infer := cheap
	start := func(typed string, args ...string) string {
		var out strings.Builder
		a := &app{
			stdin: strings.NewReader(typed), stdout: &out, stderr: &out, now: time.Now, infer: infer,
			getenv: func(string) string { return "" },
		}
		require.Equal(t, exitDone, a.run(append([]string{"practice", "course", "--data", dir, "--who", "A. Trainee"}, args...)), out.String())
		return out.String()
	}
	keep := func(r practicelog.Result) {
		var quiet strings.Builder
		require.NoError(t, (&app{stdout: &quiet, stderr: &quiet}).keepResult(dir, r))
	}
	const own = "\nlook array\nlook controller\nname sound\n1\n1\n1\n1\n1\n1\n1\n"
	sheet := "\n" + strings.Repeat("\n1\n1\n1\n1\n1\n1\n", scenarios.CourseSheet)
	lessons := scenarios.Lessons()
	for _, c := range scenarios.CourseCases() {
		assert.Contains(t, start("", "--show"), lessons[c.Lesson].Title)
		var out string
		switch {
		case c.Guided:
			sc, ok := scenarios.ByID(c.Scenario)
			require.True(t, ok)
			_, typed, _ := guidedTyped(t, sc)
			out = start("\n"+typed, "--plain")
			require.Contains(t, out, "type bench to see how", c.Scenario)
			require.Contains(t, out, "VISIT SUMMARY", c.Scenario)
		case c.Sheet && c.Lesson > 0 && !effort.All(): // the sheets take an inference for each case
			keep(practicelog.Result{Who: "A. Trainee", Mode: practicelog.Quiz, Scenario: c.Scenario, Answers: 36})
			continue
		case c.Sheet:
			infer = belief.Infer // its cases are those that their readings decide
			out = start(sheet, "--plain")
			infer = cheap
			require.Contains(t, out, "QUIZ "+c.Scenario)
			continue
		default:
			out = start(own, "--plain")
		}
		require.Contains(t, out, lessons[c.Lesson].Short[0][:40])
		require.Contains(t, out, "DEBRIEF", c.Scenario)
		require.Contains(t, out, "Saved: ")
	}
	assert.Contains(t, start("", "--show"), "36 of 36 cases are done.")
	assert.Contains(t, start("", "--show"), "Not passed yet: ", "without an inference nothing is found")
	for _, c := range scenarios.CourseCases() {
		if c.Guided {
			keep(practicelog.Result{Who: "A. Trainee", Mode: practicelog.WithGuide, Scenario: c.Scenario, Passed: true})
		}
	}
	assert.Contains(t, start(""), "All cases of the course are done.")
	assert.Contains(t, start(own), "All cases of the course are done.", "and nothing is begun")
	assert.Contains(t, start("", "--lesson", "6"), lessons[5].Part[5].Text[0][:40])
}

// On the full screen: the explanation, then the case that it leads to.
func TestTerminalCourse(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0], "practice", "course", "--who", "A. Trainee")
	term.waitFor("Lesson 1 of 6: See", "What a small solar system is made of", "begin the next case")
	term.resize(60, 20)
	term.waitFor("more below")
	term.keys("End")
	term.waitFor("Next: Lesson 1 of 6: See, A morning round (guided).")
	term.resize(140, 45)
	term.waitFor("Eyes come before hands.") // of what to keep, at the end
	term.keys("Enter")
	term.waitFor("F11 Bench", "array lamp")
}
