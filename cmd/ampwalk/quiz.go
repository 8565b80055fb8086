package main

import (
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/scenarios"
	"ampwalk/tui"
	"ampwalk/tui/plain"
)

// A sheetFlags says which sheet is meant.
type sheetFlags struct {
	level, count int
	seed         uint64
}

func (s *sheetFlags) add(f *pflag.FlagSet) {
	f.IntVar(&s.level, "level", 1, "")
	f.IntVar(&s.count, "count", 12, "")
	f.Uint64Var(&s.seed, "seed", 0, "")
}

// sheet draws the sheet.
func (a *app) sheet(c *cobra.Command, s sheetFlags) (*scenarios.Sheet, error) {
	switch {
	case s.level < 1 || s.level > scenarios.Levels:
		return nil, a.wrong(c, words().Wrong.SheetLevel, s.level, scenarios.Levels)
	case s.count < 1 || s.count > scenarios.MostOnSheet:
		return nil, a.wrong(c, words().Wrong.SheetCount, s.count, scenarios.MostOnSheet)
	case s.seed > scenarios.MaxSheetSeed:
		return nil, a.wrong(c, words().Wrong.SheetSeed, s.seed, uint64(scenarios.MaxSheetSeed))
	}
	return scenarios.NewSheet(s.level, s.count, s.seed, a.infer)
}

// practiceQuiz plays the cases of a sheet, one a minute.
func (a *app) practiceQuiz(f *pflag.FlagSet) action {
	var fl practiceFlags
	var which sheetFlags
	which.add(f)
	f.StringVar(&fl.who, "who", "", "")
	f.BoolVar(&fl.plain, "plain", false, "")
	f.StringVar(&fl.data, "data", "", "")
	return func(c *cobra.Command, _ []string) error {
		dir, err := a.dataDir(fl.data)
		if err != nil {
			return err
		}
		return a.quiz(c, dir, fl, which)
	}
}

// quiz plays a sheet on the screen or line by line, and keeps the result.
func (a *app) quiz(c *cobra.Command, dir string, fl practiceFlags, which sheetFlags) error {
	a.tell(words().Practice.Drawing+"\n", which.count)
	s, err := a.sheet(c, which)
	if err != nil {
		return err
	}
	q, err := scenarios.NewQuiz(s, fl.who)
	if err != nil {
		return inputError{err}
	}
	if a.fullScreen(fl.plain) {
		if err := tui.RunQuiz(a.practiceOptions(dir), q); err != nil {
			return interruptedOr(err)
		}
	} else if err := plain.Quiz(plain.QuizOptions{Quiz: q, Now: a.now, In: a.stdin, Out: a.stdout, Width: a.lineWidth()}); err != nil {
		return err
	}
	r, ended := q.Result(a.now())
	switch {
	case !ended:
		a.say(words().Practice.NotCounted)
		return nil
	case a.fullScreen(fl.plain):
		return a.closed(dir, q.Debrief, r)
	}
	return a.keepResult(dir, r)
}
