package main

import (
	"bufio"
	"fmt"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/scenarios"
	"ampwalk/tui"
)

// practiceCourse leads through the course: it explains the lesson of the next case, then
// plays that case.
func (a *app) practiceCourse(f *pflag.FlagSet) action {
	var fl practiceFlags
	f.StringVar(&fl.who, "who", "", "")
	show := f.Bool("show", false, "")
	class := f.Bool("class", false, "")
	lesson := f.Int("lesson", 0, "")
	f.BoolVar(&fl.plain, "plain", false, "")
	f.StringVar(&fl.data, "data", "", "")
	return func(c *cobra.Command, _ []string) error {
		if *class && fl.who != "" {
			return a.wrong(c, "%s", words().Wrong.ClassAndWho)
		}
		if n := len(scenarios.Lessons()); *lesson < 0 || *lesson > n {
			return a.wrong(c, words().Wrong.Lesson, *lesson, n)
		}
		dir, err := a.dataDir(fl.data)
		if err != nil {
			return err
		}
		list, err := a.readResults(dir)
		if err != nil {
			return err
		}
		switch {
		case *lesson > 0:
			title, lines := scenarios.ReadLesson(*lesson-1, true)
			_, err := a.explain(dir, fl, title, lines, false)
			return err
		case *class:
			for _, l := range append(scenarios.ClassLines(list), scenarios.Drawn(scenarios.ClassPoints(list))...) {
				a.say(l)
			}
			return nil
		}
		stands := scenarios.StandingOf(list, fl.who)
		if *show || stands.Next == nil {
			for _, l := range append(stands.Lines(), scenarios.Drawn(stands.Points)...) {
				a.say(l)
			}
			return nil
		}
		return a.courseCase(c, dir, fl, *stands.Next)
	}
}

// courseCase explains a lesson and plays a case of it, on the screen or line by line.
func (a *app) courseCase(c *cobra.Command, dir string, fl practiceFlags, next scenarios.CourseCase) error {
	title, lines := next.Explain()
	screen := a.fullScreen(fl.plain)
	goOn, err := a.explain(dir, fl, title, lines, true)
	if err != nil || !goOn {
		return err
	}
	if next.Sheet {
		l := scenarios.Lessons()[next.Lesson]
		return a.quiz(c, dir, fl, sheetFlags{l.SheetLevel, scenarios.CourseSheet, l.SheetSeed})
	}
	sc, ok := scenarios.ByID(next.Scenario)
	if !ok {
		return inputError{fmt.Errorf(words().Wrong.NoScenario, next.Scenario)}
	}
	if fl.guided = next.Guided; screen {
		return a.practiceOnScreen(dir, fl, sc)
	}
	return a.practiceLineByLine(dir, fl, sc)
}

// explain shows an explanation. Where a case follows it, goOn tells whether the person wants
// to begin it.
func (a *app) explain(dir string, fl practiceFlags, title string, lines []string, follows bool) (goOn bool, err error) {
	if a.fullScreen(fl.plain) {
		goOn, err = tui.RunLesson(a.practiceOptions(dir), title, lines, follows)
		return goOn, interruptedOr(err)
	}
	a.say(title)
	for _, l := range lines {
		a.say(l)
	}
	if !follows {
		return false, nil
	}
	a.say(words().Practice.EnterBegins)
	in := bufio.NewReader(a.stdin)
	typed, err := in.ReadString('\n')
	if err != nil || strings.EqualFold(strings.TrimSpace(typed), "leave") {
		return false, nil // nothing was begun
	}
	a.stdin = in
	return true, nil
}
