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
	f.BoolVar(&fl.plain, "plain", false, "")
	f.StringVar(&fl.data, "data", "", "")
	return func(c *cobra.Command, _ []string) error {
		if *class && fl.who != "" {
			return a.wrong(c, "%s", words().Wrong.ClassAndWho)
		}
		dir, err := a.dataDir(fl.data)
		if err != nil {
			return err
		}
		list, err := a.readResults(dir)
		if err != nil {
			return err
		}
		if *class {
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
		return a.courseCase(dir, fl, *stands.Next)
	}
}

// courseCase explains a lesson and plays a case of it, on the screen or line by line.
func (a *app) courseCase(dir string, fl practiceFlags, next scenarios.CourseCase) error {
	sc, ok := scenarios.ByID(next.Scenario)
	if !ok {
		return inputError{fmt.Errorf(words().Wrong.NoScenario, next.Scenario)}
	}
	fl.guided = next.Guided
	title, lines := next.Explain()
	if a.fullScreen(fl.plain) {
		goOn, err := tui.RunLesson(a.practiceOptions(dir), title, lines)
		if err != nil || !goOn {
			return interruptedOr(err)
		}
		return a.practiceOnScreen(dir, fl, sc)
	}
	a.say(title)
	for _, l := range lines {
		a.say(l)
	}
	a.say(words().Practice.EnterBegins)
	in := bufio.NewReader(a.stdin)
	typed, err := in.ReadString('\n')
	if err != nil || strings.EqualFold(strings.TrimSpace(typed), "leave") {
		return nil // nothing was begun
	}
	a.stdin = in
	return a.practiceLineByLine(dir, fl, sc)
}
