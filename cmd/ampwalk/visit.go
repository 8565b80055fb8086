package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"strings"
	"unicode"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
	"ampwalk/scenarios"
	"ampwalk/tui"
	"ampwalk/tui/plain"
)

// visitFlags are the flags of the visit itself.
type visitFlags struct {
	site, data, who, resume, instruments string
	plain, quick, callOut                bool
}

func (fl visitFlags) depth() visiting.Depth {
	switch {
	case fl.quick:
		return visiting.Quick
	case fl.callOut:
		return visiting.CallOut
	default:
		return visiting.Full
	}
}

// visit leads a visit: on the full screen, or line by line.
func (a *app) visit(f *pflag.FlagSet) action {
	var fl visitFlags
	f.StringVar(&fl.site, "site", "", "")
	f.StringVar(&fl.who, "who", "", "")
	f.StringVar(&fl.resume, "resume", "", "")
	f.StringVar(&fl.instruments, "instruments", "", "")
	f.BoolVar(&fl.plain, "plain", false, "")
	f.BoolVar(&fl.quick, "quick", false, "")
	f.BoolVar(&fl.callOut, "call-out", false, "")
	version := f.Bool("version", false, "")
	f.StringVar(&fl.data, "data", "", "")
	return func(c *cobra.Command, args []string) error {
		if *version {
			return a.version(nil)(c, args)
		}
		if fl.site != "" && fl.resume != "" {
			return a.wrong(c, "%s", words().Wrong.SiteAndResume)
		}
		if fl.instruments != "" && fl.resume != "" {
			return a.wrong(c, "%s", words().Wrong.InstrumentsAndResume)
		}
		if fl.depth() != visiting.Full && fl.resume != "" {
			return a.wrong(c, "%s", words().Wrong.DepthAndResume)
		}
		if fl.quick && fl.callOut {
			return a.wrong(c, "%s", words().Wrong.QuickAndCallOut)
		}
		dir, err := a.dataDir(fl.data)
		if err != nil {
			return err
		}
		b := a.bookIn(dir)
		if fl.instruments != "" {
			if b.instruments, err = readInstruments(fl.instruments); err != nil {
				return err
			}
		}
		defer b.close()
		var v *visiting.Visit
		var lost string
		switch {
		case fl.resume != "":
			if fl.resume, err = record.Find(dir, fl.resume); err != nil {
				return inputError{err}
			}
			if v, lost, err = b.open(fl.resume); lost != "" {
				a.warn(lost)
			}
		case fl.site != "":
			v, err = b.beginAt(fl.site, fl.who, fl.depth())
		}
		if err != nil {
			return err
		}
		if a.fullScreen(fl.plain) {
			return a.onScreen(b, fl, tui.Options{Visit: v, Lost: lost})
		}
		if v == nil {
			if v, err = b.begin(site.DemoTOML(), fl.who, fl.depth()); err != nil {
				return err
			}
			a.printLine(words().Visit.Demo)
		}
		b.tellUnfinished(v.Head().ID)
		return a.byLine(b, fl, v)
	}
}

// fullScreen reports whether the full screen can and should be used.
func (a *app) fullScreen(plain bool) bool {
	kind := a.getenv("TERM")
	if kind == "" && runtime.GOOS != "windows" { // nobody knows what it can do
		kind = "dumb"
	}
	return !plain && a.getenv("ACCESSIBLE") == "" && kind != "dumb" && isTerminal(a.stdin) && isTerminal(a.stdout)
}

func isTerminal(stream any) bool {
	f, ok := stream.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// byLine leads the visit line by line. An interrupt ends it at once: what was
// confirmed is on the disk already.
func (a *app) byLine(b *book, fl visitFlags, v *visiting.Visit) error {
	interrupted, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	a.tell(words().Visit.Start, v.Head().ID, v.Site().Name)
	type ending struct {
		done bool
		err  error
	}
	ended := make(chan ending, 1)
	go func() {
		done, err := plain.Run(plain.Options{
			Visit: v, Home: b.home(v), Infer: a.remembering().Infer, Summary: func() string { return a.summaryByLine(v) }, Now: a.now, In: a.stdin, Out: a.stdout, Width: a.lineWidth(),
		})
		ended <- ending{done, err}
	}()
	select {
	case <-interrupted.Done():
		b.journal = nil // the talk may still be in it; the system closes it
		a.broken(fl, v, "interrupted; ", b.notPutBack(v.Head().ID))
		return errInterrupted
	case e := <-ended:
		err := errors.Join(e.err, b.secure())
		switch {
		case err != nil:
			a.broken(fl, v, "", v.Procedure().OpenText(v.State()))
		case e.done:
			a.toPrint(fl, v)
		default:
			a.leftOpen(fl, v)
		}
		return err
	}
}

// broken says how to go on with a visit that was broken off, and what it has open.
func (a *app) broken(fl visitFlags, v *visiting.Visit, why, open string) {
	a.complain(fmt.Sprintf("\nampwalk: "+words().Visit.Broken, why, resumeCommand(fl, v)))
	if open != "" {
		a.warn(fmt.Sprintf(words().Visit.Open, open))
	}
}

// lineWidth is where lines are broken: within a narrow terminal, else 0 for the
// usual width.
func (a *app) lineWidth() int {
	const usual = 80
	f, ok := a.stdout.(*os.File)
	if !ok {
		return 0
	}
	if w, _, err := term.GetSize(int(f.Fd())); err == nil && w > 1 && w < usual {
		return w - 1
	}
	return 0
}

// leftOpen says that the visit is kept and how to go on.
func (a *app) leftOpen(fl visitFlags, v *visiting.Visit) {
	if r := v.Belief(); r != nil {
		a.printLine("")
		a.say(fmt.Sprintf(words().Visit.SoFar, strings.Join(likeliest(v), "; ")))
		a.say("State: " + visiting.StateLine(v.Site(), r))
	}
	for _, s := range v.Procedure().Restore(v.State()) {
		a.say(fmt.Sprintf(words().Visit.PutBack, s.Title))
	}
	a.tell("\n"+words().Visit.Resume, resumeCommand(fl, v))
}

// sayColumns is the width of what is said: it fits any terminal.
const sayColumns = 78

// say prints a paragraph.
func (a *app) say(text string) {
	a.printLine(strings.Join(plaintext.WrapIndented(text, sayColumns), "\n"))
}

func likeliest(v *visiting.Visit) []string {
	var list []string
	for _, s := range visiting.Leading(v.Belief(), nil, 3, 0.05) {
		list = append(list, fmt.Sprintf("%s (%s, %s)", s.Title, visiting.Likelihood(s.P), quantity.Percent(s.P)))
	}
	return list
}

// toPrint says how the visit is printed.
func (a *app) toPrint(fl visitFlags, v *visiting.Visit) {
	command := "ampwalk print "
	if fl.data != "" {
		command += "--data " + quoted(fl.data, runtime.GOOS) + " "
	}
	a.tell("\n"+words().Visit.Print, command, v.Head().ID)
}

func resumeCommand(fl visitFlags, v *visiting.Visit) string {
	text := "ampwalk"
	if fl.plain {
		text += " --plain"
	}
	if fl.data != "" {
		text += " --data " + quoted(fl.data, runtime.GOOS)
	}
	return text + " --resume " + v.Head().ID
}

// quoted is a path as the shell of a system takes it: the one of Windows knows only
// quotation marks, which no name there can have.
//
// Source: POSIX.1-2024, XCU 2.2 (quoting), from memory.
func quoted(path, system string) string {
	plain := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("/._-+,:@%=", r) || system == "windows" && (r == '\\' || r == '~')
	}
	switch {
	case path != "" && strings.IndexFunc(path, func(r rune) bool { return !plain(r) }) < 0:
		return path
	case system == "windows":
		return `"` + path + `"`
	default:
		return "'" + strings.ReplaceAll(path, "'", `'\''`) + "'"
	}
}

// summaryOrProblem is for a screen, which has the outlook worked out beside.
func (a *app) summaryOrProblem(v *visiting.Visit, columns int, o *outlook.Outlook) string {
	return a.textOrProblem(a.summary(v, columns, o))
}

func (a *app) textOrProblem(text string, err error) string {
	if err != nil {
		return fmt.Sprintf(words().Failed.Summary, plaintext.Clean(err.Error())) + "\n"
	}
	return text
}

// summaryByLine is the summary with its outlook, as wide as the terminal, at most as for a
// printer.
func (a *app) summaryByLine(v *visiting.Visit) string {
	o, err := a.outlookOf(v)
	if err != nil {
		return a.textOrProblem("", err)
	}
	return a.textOrProblem(a.summary(v, cmp.Or(a.lineWidth(), document.Width), o))
}

// onScreen leads visits on the full screen, from where at says or else from the
// start screen, and leaves the summary on the terminal.
func (a *app) onScreen(b *book, fl visitFlags, at tui.Options) error {
	remembered, err := readSettings(b.dir)
	if err != nil {
		a.warn(err.Error())
	}
	opt := tui.Options{
		Signs:  tui.SignsOf(a.getenv, runtime.GOOS),
		Colors: tui.EightColors(a.getenv), NoColor: tui.NoColor(a.getenv),
		Theme:    remembered.theme(a.getenv),
		Remember: func(t tui.Theme) error { return settings{Theme: t}.write(b.dir) },

		Unfinished: b.unfinished(), NotPutBack: b.notPutBack, Who: fl.who,
		Sites: b.sites, OpenSite: b.openSite, About: b.about,
		ReadSite: b.siteText, NewPath: newSitePath, KeepSite: at.KeepSite,
		Begin: func(f tui.SiteFile, who string, depth visiting.Depth) (*visiting.Visit, error) {
			text, err := b.siteText(f)
			if err != nil {
				return nil, err
			}
			return b.begin(text, who, depth)
		},
		Home: b.home,
		Outlook: func(in belief.Input, change outlook.Change) (*outlook.Outlook, error) {
			return outlookFrom(in, a.now(), change)
		},
		Close:  b.leave,
		Resume: func(it record.Item) (*visiting.Visit, string, error) { return b.open(it.ID) },
		Practise: func() *scenarios.Session {
			before, err := a.readResults(b.dir)
			if err != nil {
				before = nil // any scenario will do
			}
			return scenarios.NewSession(scenarios.Next(before, fl.who), fl.who, a.infer)
		},
		Infer: a.remembering().Infer, Summary: a.summaryOrProblem, Now: a.now, Visit: at.Visit, Lost: at.Lost, Describe: at.Describe,
		Write: writeText, Print: b.printed,
		Input: a.stdin, Output: a.stdout,
	}
	if opt.KeepSite == nil {
		opt.KeepSite = new(keeper).keep
	}
	exit, err := tui.Run(opt)
	if err == nil && exit.ByLine && exit.Practice != nil {
		return a.practiceByLine(b.dir, exit.Practice)
	}
	if err == nil && exit.ByLine {
		fl.plain = true
		return a.byLine(b, fl, exit.Visit)
	}
	if exit.Practice != nil && exit.Practice.Ended() {
		r, _ := exit.Practice.Result(a.now())
		return errors.Join(err, a.closed(b.dir, exit.Practice.Debrief().Lines, r))
	}
	if exit.Visit != nil {
		unkept := b.secure()
		switch {
		case unkept != nil:
			err = errors.Join(err, unkept)
			a.broken(fl, exit.Visit, "", exit.Visit.Procedure().OpenText(exit.Visit.State()))
		case exit.Finished:
			io.WriteString(a.stdout, a.summaryByLine(exit.Visit))
			a.toPrint(fl, exit.Visit)
		default:
			a.leftOpen(fl, exit.Visit)
		}
	}
	if errors.Is(err, tea.ErrInterrupted) {
		return errInterrupted
	}
	return err
}
