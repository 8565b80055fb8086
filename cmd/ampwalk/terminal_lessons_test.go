package main

import (
	"flag"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/scenarios"
)

var lessonsPlayed = flag.String("lessons", "", `the lessons that TestTerminalLessons plays, such as "1 2 3 4 5 6"`)

// lessonsToPlay are their numbers, from 1.
func lessonsToPlay(t *testing.T) (list []int) {
	t.Helper()
	for _, word := range strings.Fields(*lessonsPlayed) {
		n, err := strconv.Atoi(word)
		require.NoError(t, err)
		list = append(list, n)
	}
	if len(list) == 0 {
		t.Skip("a lesson takes minutes: those that -lessons names are played; TestCourseLineByLine plays them all without a terminal")
	}
	return list
}

// A lesson from its start to its end in a terminal, with the program as a trainee has it: the
// explanation, the two guided cases, the three of one's own, and the sheet as a quiz.
func TestTerminalLessons(t *testing.T) {
	needTmux(t)
	list := lessonsToPlay(t)
	ampwalk := program(t)
	for _, n := range list {
		t.Run(fmt.Sprint(n), func(t *testing.T) {
			t.Parallel()
			data := t.TempDir()
			var quiet strings.Builder
			left := 0
			for _, c := range scenarios.CourseCases() {
				if c.Lesson+1 >= n {
					if c.Lesson+1 == n {
						left++
					}
					continue
				}
				r := practicelog.Result{Who: "A. Trainee", Mode: practicelog.OnOnesOwn, Scenario: c.Scenario}
				switch {
				case c.Guided:
					r.Mode, r.Passed = practicelog.WithGuide, true
				case c.Sheet:
					r.Mode, r.Answers = practicelog.Quiz, 6*scenarios.CourseSheet
				}
				require.NoError(t, (&app{stdout: &quiet, stderr: &quiet}).keepResult(data, r))
			}
			title := fmt.Sprintf("Lesson %d of 6: %s", n, scenarios.Lessons()[n-1].Title)
			for _, c := range scenarios.CourseCases() {
				if c.Lesson+1 != n {
					continue
				}
				term := openTerminal(t, 80, 24, t.TempDir(), []string{"AMPWALK_DATA=" + data}, ampwalk, "practice", "course", "--who", "A. Trainee")
				term.waitFor(title, "begin the next case")
				term.keys("Enter")
				switch {
				case c.Sheet:
					term.quiz(scenarios.CourseSheet)
				case c.Guided:
					term.guided(c.Scenario)
				default:
					term.alone()
				}
				assert.Equal(t, "0", term.exit())
				assert.Contains(t, term.everything(), "Saved: ", c.Scenario)
				left--
			}
			assert.Zero(t, left)
		})
	}
}

// guided goes through a guided case with what the meters show, until its debrief has ended.
func (term *terminal) guided(scenario string) {
	term.t.Helper()
	sc, ok := scenarios.ByID(scenario)
	require.True(term.t, ok)
	l := &learner{term, sc.Bench(), procedure.For(sc.Site).Steps}
	l.through(func(procedure.Step, string) {})
	l.keys("Enter")
	l.waitFor("DEBRIEF")
	l.keys("Enter")
}

// alone closes a case of one's own after two looks.
func (term *terminal) alone() {
	term.t.Helper()
	for _, typed := range []string{"look array", "look controller", "name sound"} {
		term.waitFor("What do you do?")
		term.keys("/")
		term.waitFor("Type it")
		term.enter(typed)
		term.wait("the end of "+typed, func(s string) bool { return !strings.Contains(s, "Type it") })
	}
	term.answers("DEBRIEF")
	term.keys("Enter")
}

// quiz answers each question of a quiz with its first answer.
func (term *terminal) quiz(cases int) {
	term.t.Helper()
	for n := range cases {
		term.waitFor("You have one minute for each case", fmt.Sprintf("%d of %d.", n+1, cases))
		term.keys("Enter")
		term.waitFor(fmt.Sprintf("Case %d of %d", n+1, cases))
		term.answers("What it was: ")
	}
	term.waitFor("QUIZ")
	term.keys("Enter")
}

// answers gives the first answer to every question, until a text stands on the screen.
func (term *terminal) answers(until string) {
	term.t.Helper()
	question := func(screen string) string { // the line before the answers, which stand last
		lines := strings.Split(screen, "\n")
		for i := len(lines) - 1; i > 0; i-- {
			if strings.HasPrefix(lines[i], "  1 ") || strings.HasPrefix(lines[i], "> 1 ") {
				return lines[i-1]
			}
		}
		return ""
	}
	for last := ""; ; {
		screen := term.wait("a question after "+last, func(s string) bool {
			return strings.Contains(s, until) || question(s) != "" && question(s) != last && !strings.Contains(s, "What do you do?")
		})
		if strings.Contains(screen, until) {
			return
		}
		last = question(screen)
		term.keys("1", "Enter")
	}
}
