package tui

import (
	"errors"
	"io"
	"os"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/physics/site"
	"ampwalk/scenarios"
)

// A lookAhead works out how much power there is, and until when, with a change to try.
type lookAhead func(belief.Input, outlook.Change) (*outlook.Outlook, error)

// A SiteFile is a site that a visit can be begun at.
type SiteFile struct {
	Path       string     // as the person would type it; "" for the demo site and for one that only visits know
	Name       string     // the name in the file, "" if it could not be read
	Demo       bool       // the embedded, invented site
	Incomplete bool       // all that is wrong with it is that answers are missing
	Problem    error      // what is wrong with the file, one problem a line; nil if usable
	Site       *site.Site // what it describes, nil if not usable

	Last     *record.Item // the last visit there, nil if none is known
	Finished *record.Item // the last one that was finished
}

// visitsOnly reports whether the site is known from its visits alone.
func (f SiteFile) visitsOnly() bool { return f.Path == "" && !f.Demo }

// An About is what is worth knowing of a site before going there.
type About struct {
	Left    *visiting.Left // by the last finished visit, nil for none
	Assumed []string       // figures of the file that nobody has read off a nameplate
	Remarks []string       // on what is installed
}

// Options is what the screens are given.
type Options struct {
	Unfinished []record.Item          // last worked on first
	NotPutBack func(id string) string // what such a visit has open, "" for nothing; nil: that is not known
	Who        string                 // offered as the visitor's name

	OpenSite func(path string) SiteFile
	Sites    func() []SiteFile // all that are known, read anew
	About    func(SiteFile) (About, error)
	ReadSite func(SiteFile) ([]byte, error)       // the text of its file
	NewPath  func(name string) string             // of a new file for a site of that name
	KeepSite func(path string, text []byte) error // keeps what was there as a backup
	Begin    func(f SiteFile, who string, depth visiting.Depth) (*visiting.Visit, error)
	Resume   func(record.Item) (v *visiting.Visit, notice string, err error) // notice: what a damaged journal lost, or ""
	// Close lets go of a visit that is left for the start screen, and gives those that can
	// be continued now. A visit without an answer is discarded. nil: nobody can go there.
	Close    func(*visiting.Visit) ([]record.Item, error)
	Practise func() *scenarios.Session       // the next free practice; nil: it is not offered
	Home     func(*visiting.Visit) desk.Home // what was said of a visit by those who reviewed it; nil: nothing
	Infer    visiting.Inferrer
	// Summary is the text of a visit, with how much power there is where that is given.
	Summary func(v *visiting.Visit, columns int, ahead *outlook.Outlook) string
	Now     func() time.Time
	// Outlook works out how much power there is, and until when; nil: that is not offered.
	Outlook lookAhead

	// Write writes the text of the visit of that id to a new file; nil: that is not
	// offered.
	Write func(id, text string) (path string, err error)
	// Print writes the visit of that id to new PDF files, for staff and for the
	// caretaker; nil: that is not offered.
	Print func(id string) (paths []string, err error)

	Signs    Signs
	Colors   bool              // the terminal has colours, see [EightColors]
	NoColor  bool              // nobody wants them, see [NoColor]: bold and reverse stay
	Theme    Theme             // to begin with, see [GuessTheme]
	Remember func(Theme) error // keeps the theme chosen; nil: it is not kept

	Visit    *visiting.Visit // go straight to this visit; nil: the start screen
	Lost     string          // what its damaged journal lost, or ""
	Describe *Description    // go straight to describing a site; nil: the start screen

	Input  io.Reader // nil: standard input
	Output io.Writer // nil: standard output

	left map[string]visiting.Left // by finished visits, as far as it was worked out
}

// A Description is a site file under way and where it is kept; without a path a
// new site, whose name is asked for first.
type Description struct {
	Draft siteform.Draft
	Path  string
}

// An Exit says how the screens were left.
type Exit struct {
	Visit    *visiting.Visit // nil if none was opened
	Finished bool            // nothing was left to do
	ByLine   bool            // the person chose to go on line by line

	Practice *scenarios.Session // nil if none was begun
}

// framesPerSecond is how often the library looks for a new frame where it draws
// itself. At its usual 60 a key alone would wait up to 17 ms.
const framesPerSecond = 90

var errNoState = datafile.Error(func() string { return wordsOf().NoState })

// Run shows the screens until they are left. Interrupted from outside it
// returns tea.ErrInterrupted; every answer given is kept all the same.
func Run(opt Options) (Exit, error) {
	m, err := run(opt, newModel)
	return Exit{Visit: m.visit, Finished: m.visit != nil && m.visit.Done(), ByLine: m.byLine, Practice: practiceOn(m.screen)}, err
}

// Screens is what [Run] shows, without colours, for whoever gives it messages and runs
// its commands without a terminal.
func Screens(opt Options) tea.Model {
	r := lipgloss.NewRenderer(io.Discard)
	r.SetColorProfile(termenv.Ascii)
	return newModel(opt, r)
}

// run shows the screens from the first one on that begin makes.
func run(opt Options, begin func(Options, *lipgloss.Renderer) model) (model, error) {
	var options []tea.ProgramOption
	in, out := os.Stdin, os.Stdout
	renderer := lipgloss.DefaultRenderer()
	if opt.Input != nil {
		options = append(options, tea.WithInput(opt.Input))
		in, _ = opt.Input.(*os.File)
	}
	if opt.Output != nil {
		options = append(options, tea.WithOutput(opt.Output))
		out, _ = opt.Output.(*os.File)
		renderer = lipgloss.NewRenderer(opt.Output)
	}
	if opt.NoColor {
		renderer.SetColorProfile(termenv.ANSI)
	}
	if opt.Colors && renderer.ColorProfile() == termenv.Ascii {
		renderer.SetColorProfile(termenv.ANSI)
	}
	m := begin(opt, renderer)
	m.stoppable = stoppable
	return show(m, in, out, options)
}

// byLibrary runs m with the library's renderer.
func byLibrary(m model, options []tea.ProgramOption) (model, error) {
	last, err := tea.NewProgram(m, append(options, tea.WithAltScreen(), tea.WithFPS(framesPerSecond))...).Run()
	ended, ok := last.(model)
	if !ok {
		return m, errors.Join(err, errNoState)
	}
	return ended, err
}
