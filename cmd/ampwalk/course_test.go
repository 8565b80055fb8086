package main

import (
	"os"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/scenarios"
)

// The whole course line by line, from the first lesson to the last: each start explains the
// lesson of the next case and plays it, and the results say where the trainee stands.
func TestCourseLineByLine(t *testing.T) {
	if testing.Short() {
		t.Skip("thirty cases")
	}
	dir := t.TempDir()
	start := func(typed string, args ...string) string {
		var out strings.Builder
		a := &app{
			stdin: strings.NewReader(typed), stdout: &out, stderr: &out, now: time.Now, infer: cheap,
			getenv: func(string) string { return "" },
		}
		require.Equal(t, exitDone, a.run(append([]string{"practice", "course", "--data", dir, "--who", "A. Trainee"}, args...)), out.String())
		return out.String()
	}
	const own = "\nlook array\nlook controller\nname sound\n1\n1\n1\n1\n1\n1\n1\n"
	lessons := scenarios.Lessons()
	for i, c := range scenarios.CourseCases() {
		assert.Contains(t, start("", "--show"), lessons[c.Lesson].Title)
		if !c.Guided {
			out := start(own, "--plain")
			require.Contains(t, out, lessons[c.Lesson].Text[0][:40])
			require.Contains(t, out, "DEBRIEF", c.Scenario)
			require.Contains(t, out, "Saved: ")
			continue
		}
		out := start("\nleave\n", "--plain")
		require.Contains(t, out, lessons[c.Lesson].Title)
		require.Contains(t, out, "type bench to see how", c.Scenario)
		sc, ok := scenarios.ByID(c.Scenario)
		require.True(t, ok)
		_, g := guidedThrough(t, sc) // the visit as such is that of TestGuidedLineByLine
		r, ended := g.Result(time.Unix(int64(i), 0))
		require.True(t, ended)
		var quiet strings.Builder
		require.NoError(t, (&app{stdout: &quiet, stderr: &quiet}).keepResult(dir, r))
	}
	assert.Contains(t, start(""), "All cases of the course are done.")
	assert.Contains(t, start(own), "All cases of the course are done.", "and nothing is begun")
}

// On the full screen: the explanation, then the case that it leads to.
func TestTerminalCourse(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0], "practice", "course", "--who", "A. Trainee")
	term.waitFor("Lesson 1 of 6: See", "Eyes come before hands.", "begin the next case")
	term.resize(60, 20)
	term.waitFor("more below")
	term.keys("End")
	term.waitFor("Next: Lesson 1 of 6: See, A morning round (guided).")
	term.resize(140, 45)
	term.waitFor("Eyes come before hands.")
	term.keys("Enter")
	term.waitFor("F11 Bench", "array lamp")
}
