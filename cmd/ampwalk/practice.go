package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/scenarios"
	"ampwalk/tui"
	"ampwalk/tui/plain"
)

// practiceFile keeps the results of practices, in the data folder.
const practiceFile = "practice.jsonl"

// practiceFlags are the flags of a practice.
type practiceFlags struct {
	scenario, who, data string
	level, seed         int
	guided, plain       bool
}

// practice leads a practice on a simulated fault, or tells of those before.
func (a *app) practice(f *pflag.FlagSet) action {
	var fl practiceFlags
	f.StringVar(&fl.scenario, "scenario", "", "")
	f.StringVar(&fl.who, "who", "", "")
	f.IntVar(&fl.level, "level", 0, "")
	f.IntVar(&fl.seed, "seed", -1, "")
	f.BoolVar(&fl.guided, "guided", false, "")
	f.BoolVar(&fl.plain, "plain", false, "")
	f.StringVar(&fl.data, "data", "", "")
	return func(c *cobra.Command, _ []string) error {
		switch {
		case fl.scenario != "" && (fl.level != 0 || fl.seed >= 0):
			return a.wrong(c, "%s", words().Wrong.ScenarioAlone)
		case fl.level < 0 || fl.level > scenarios.Levels || fl.level == 0 && fl.seed >= 0:
			return a.wrong(c, words().Wrong.Level, fl.level, scenarios.Levels)
		}
		dir, err := a.dataDir(fl.data)
		if err != nil {
			return err
		}
		before, err := a.readResults(dir)
		if err != nil {
			return err
		}
		sc, err := a.chosen(fl, before)
		if err != nil {
			return err
		}
		if a.fullScreen(fl.plain) {
			return a.practiceOnScreen(dir, fl, sc)
		}
		return a.practiceLineByLine(dir, fl, sc)
	}
}

// practiceLineByLine begins a practice line by line.
func (a *app) practiceLineByLine(dir string, fl practiceFlags, sc *scenarios.Scenario) error {
	a.tellScenario(sc)
	if !fl.guided {
		return a.practiceByLine(dir, scenarios.NewSession(sc, fl.who, a.infer))
	}
	g, err := scenarios.NewGuided(sc, fl.who, a.infer)
	if err != nil {
		return err
	}
	a.say(sc.Title + ". " + sc.Story)
	a.say(words().Practice.Bench)
	return a.guidedByLine(dir, g)
}

// practiceByLine goes on with a free practice line by line, and keeps its result.
func (a *app) practiceByLine(dir string, s *scenarios.Session) error {
	ended, err := plain.Practice(plain.PracticeOptions{Session: s, In: a.stdin, Out: a.stdout, Width: a.lineWidth()})
	if err != nil || !ended {
		return err
	}
	r, _ := s.Result(a.now())
	return a.keepResult(dir, r)
}

func (a *app) tellScenario(sc *scenarios.Scenario) {
	a.tell(words().Practice.Scenario+"\n", sc.ID, sc.Level)
}

// guidedByLine goes on with the ordinary visit line by line, with the bench at
// hand, and keeps its result.
func (a *app) guidedByLine(dir string, g *scenarios.Guided) error {
	done, err := plain.Run(plain.Options{
		Visit: g, Infer: a.infer, Summary: func() string { return a.summaryByLine(g.Visit) }, Now: g.Now,
		In: a.stdin, Out: a.stdout, Width: a.lineWidth(),
	})
	if err != nil {
		return err
	}
	if !done {
		a.say(words().Practice.NotCounted)
		return nil
	}
	r, _ := g.Result(a.now())
	return a.closed(dir, g.Debrief, r)
}

// chosen is the scenario that the flags ask for: a file, an embedded one, a
// generated one, or the one that fits the trainee.
func (a *app) chosen(fl practiceFlags, before []practicelog.Result) (*scenarios.Scenario, error) {
	switch {
	case strings.HasSuffix(fl.scenario, scenarios.Suffix):
		return readScenario(fl.scenario)
	case fl.scenario != "":
		sc, ok := scenarios.ByID(fl.scenario)
		if !ok {
			return nil, inputError{fmt.Errorf(words().Wrong.NoScenario, plaintext.Clean(fl.scenario))}
		}
		return sc, nil
	case fl.level > 0:
		seed := uint64(max(fl.seed, 0))
		if fl.seed < 0 {
			seed = uint64(a.now().UnixMilli()) % 1e6
		}
		return scenarios.Generate(fl.level, seed), nil
	}
	return scenarios.Next(before, fl.who), nil
}

// readScenario reads a scenario file; a site file that it names lies beside it.
func readScenario(name string) (*scenarios.Scenario, error) {
	data, err := read(name)
	if err != nil {
		return nil, err
	}
	find := func(site string) ([]byte, error) {
		if strings.HasSuffix(site, ".toml") {
			return read(filepath.Join(filepath.Dir(name), filepath.Base(site)))
		}
		return scenarios.SiteText(site)
	}
	sc, err := scenarios.Parse(name, strings.TrimSuffix(filepath.Base(name), scenarios.Suffix), data, find)
	if err != nil {
		return nil, inputError{err}
	}
	return sc, nil
}

// keepResult adds a result to the file of results, durably.
func (a *app) keepResult(dir string, r practicelog.Result) error {
	text, err := r.JSONLine()
	if err != nil {
		return err
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	f, err := os.OpenFile(filepath.Join(dir, practiceFile), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	if err != nil {
		return err
	}
	_, err = f.Write(text)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf(words().Failed.Result, err)
	}
	a.tell("\n"+words().Practice.Kept, r.Score.Total)
	return nil
}

func (a *app) readResults(dir string) ([]practicelog.Result, error) {
	data, err := wholefile.Read(filepath.Join(dir, practiceFile), wholefile.Journal)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	list, err := practicelog.Read(bytes.NewReader(data))
	if err != nil {
		a.warn(filepath.Join(dir, practiceFile) + ": " + err.Error())
	}
	return list, nil
}

// practiceList lists the embedded scenarios.
func (a *app) practiceList(_ *pflag.FlagSet) action {
	return func(_ *cobra.Command, _ []string) error {
		for _, s := range scenarios.Embedded() {
			if _, err := fmt.Fprintf(a.stdout, "%-24s level %d  %s, at %s\n", s.ID, s.Level, s.Title, s.Site.Name); err != nil {
				return err
			}
		}
		return nil
	}
}

// practiceResults writes what was practised, for trainee and supervisor.
func (a *app) practiceResults(f *pflag.FlagSet) action {
	data, who, format := f.String("data", "", ""), f.String("who", "", ""), choose(f, "format", "text", "csv", "json")
	return func(c *cobra.Command, _ []string) error {
		dir, err := a.dataDir(*data)
		if err != nil {
			return err
		}
		list, err := a.readResults(dir)
		if err != nil {
			return err
		}
		if *who != "" {
			list = slices.DeleteFunc(list, func(r practicelog.Result) bool { return r.Who != *who })
		}
		switch *format {
		case "csv":
			return practicelog.WriteCSV(a.stdout, list)
		case "json":
			e := json.NewEncoder(a.stdout)
			e.SetIndent("", "  ")
			return e.Encode(append([]practicelog.Result{}, list...))
		}
		return a.progress(list)
	}
}

// progress says how each trainee stands.
func (a *app) progress(list []practicelog.Result) error {
	if len(list) == 0 {
		_, err := fmt.Fprintln(a.stdout, words().Practice.None)
		return err
	}
	var out strings.Builder
	var names []string
	for _, r := range list {
		if !slices.Contains(names, r.Who) {
			names = append(names, r.Who)
		}
		right := words().Practice.NotRight
		if r.Right {
			right = words().Practice.Right
		}
		if r.Mode == practicelog.WithGuide {
			right = words().Practice.WrongReadings.Of(r.Caught)
		}
		if r.Mode == practicelog.Quiz {
			right = fmt.Sprintf(words().Practice.AnswersRight, r.Answers-len(r.Missed), r.Answers)
		}
		fmt.Fprintf(&out, "%s  %-16s %-7s %-24s "+words().Practice.Line+"\n",
			r.At.Format("2006-01-02 15:04"), orNobody(r.Who), r.Mode, r.Scenario, r.Level, r.Score.Total, right, words().Practice.Readings.Of(r.Readings), len(r.Breaches))
	}
	for _, who := range names {
		fmt.Fprintf(&out, "\n"+words().Practice.Standing+"\n", orNobody(who), scenarios.LevelOf(list, who))
		for _, fam := range scenarios.Families(list, who) {
			if fam.Done == 0 {
				fmt.Fprintf(&out, "  %-14s %s\n", partName(fam.Part), words().Practice.NotMet)
				continue
			}
			fmt.Fprintf(&out, "  %-14s "+words().Practice.Family+"\n", partName(fam.Part), fam.Right, fam.Done, fam.Mean)
		}
		next := scenarios.Next(list, who)
		fmt.Fprintf(&out, "  "+words().Practice.Next+"\n", next.ID, next.Title)
		if stands := scenarios.StandingOf(list, who); stands.Done > 0 {
			fmt.Fprintf(&out, "  "+words().Practice.Course+"\n", strings.Join(stands.Lines(), " "))
			for _, l := range scenarios.Drawn(stands.Points) {
				fmt.Fprintln(&out, l)
			}
		}
	}
	if len(names) > 1 {
		lines := append(scenarios.ClassLines(list), scenarios.Drawn(scenarios.ClassPoints(list))...)
		out.WriteString("\n" + strings.Join(lines, "\n") + "\n")
	}
	_, err := io.WriteString(a.stdout, plaintext.CleanLines(out.String()))
	return err
}

func orNobody(who string) string {
	if who == "" {
		return words().Practice.NoName
	}
	return who
}

func partName(p condition.Part) string {
	if p == condition.NoPart {
		return words().Practice.NothingWrong
	}
	return string(p)
}

// scenarioCheck checks scenario files.
func (a *app) scenarioCheck(_ *pflag.FlagSet) action {
	return func(_ *cobra.Command, args []string) error {
		var bad error
		for _, name := range args {
			sc, err := readScenario(name)
			if err != nil {
				a.complain(err.Error())
				bad = errUsage
				continue
			}
			proof, err := scenarios.Prove(sc, a.infer)
			if err != nil {
				return err
			}
			a.tell(words().Practice.Good, name, sc.Title, sc.Level, sc.Site.Name)
			for _, l := range proof.Lines() {
				a.say(l)
			}
			switch {
			case sc.Solvable && !proof.Solved:
				fmt.Fprintf(a.stderr, words().Wrong.Solvable+"\n", plaintext.Clean(name))
				bad = errUsage
			case !sc.Solvable && proof.Solved:
				fmt.Fprintf(a.stderr, words().Wrong.NotSolvable+"\n", plaintext.Clean(name))
				bad = errUsage
			}
		}
		return bad
	}
}

// players prints how an informed player, one who measures at random and one
// with a fixed checklist fare on generated scenarios.
func (a *app) players(f *pflag.FlagSet) action {
	count, first := f.Int("count", 500, ""), f.Int("first", 0, "")
	return func(c *cobra.Command, _ []string) error {
		if *count < 1 || *first < 0 {
			return a.wrong(c, words().Wrong.Count, *count, *first)
		}
		interrupted, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		contest := scenarios.NewContest()
		for i := *first; i < *first+*count; i++ {
			if interrupted.Err() != nil { // what was played so far is told
				break
			}
			if err := contest.Play(scenarios.Generate(1+i%scenarios.Levels, uint64(i)), a.infer, uint64(i)); err != nil {
				return err
			}
		}
		_, err := io.WriteString(a.stdout, contest.Table())
		return err
	}
}

// practiceOnScreen leads a practice on the full screen and leaves what came out
// on the terminal.
func (a *app) practiceOnScreen(dir string, fl practiceFlags, sc *scenarios.Scenario) error {
	opt := a.practiceOptions(dir)
	if fl.guided {
		g, err := scenarios.NewGuided(sc, fl.who, a.infer)
		if err != nil {
			return err
		}
		byLine, err := tui.RunGuided(opt, g)
		if err != nil {
			return interruptedOr(err)
		}
		if byLine {
			return a.guidedByLine(dir, g)
		}
		r, done := g.Result(a.now())
		if !done {
			a.say(words().Practice.NotCounted)
			return nil
		}
		io.WriteString(a.stdout, a.summaryByLine(g.Visit)) // the result is kept all the same
		return a.closed(dir, g.Debrief, r)
	}
	s := scenarios.NewSession(sc, fl.who, a.infer)
	byLine, err := tui.RunPractice(opt, s)
	if err != nil {
		return interruptedOr(err)
	}
	if byLine {
		return a.practiceByLine(dir, s)
	}
	r, ended := s.Result(a.now())
	if !ended {
		a.say(words().Practice.NotCounted)
		return nil
	}
	return a.closed(dir, s.Debrief().Lines, r)
}

// practiceOptions are what the full screen needs for a practice.
func (a *app) practiceOptions(dir string) tui.Options {
	remembered, err := readSettings(dir)
	if err != nil {
		a.warn(err.Error())
	}
	return tui.Options{
		Signs: tui.SignsOf(a.getenv, runtime.GOOS), Colors: tui.EightColors(a.getenv), NoColor: tui.NoColor(a.getenv), Theme: remembered.theme(a.getenv),
		Remember: func(t tui.Theme) error { return settings{Theme: t}.write(dir) },
		Infer:    a.infer, Summary: a.summaryOrProblem, Write: writeText, Now: a.now, Input: a.stdin, Output: a.stdout,
	}
}

// closed says how a practice went and keeps its result.
func (a *app) closed(dir string, debrief func(columns int) []string, r practicelog.Result) error {
	for _, l := range debrief(sayColumns) {
		a.say(l)
	}
	return a.keepResult(dir, r)
}

func interruptedOr(err error) error {
	if errors.Is(err, tea.ErrInterrupted) {
		return errInterrupted
	}
	return err
}
