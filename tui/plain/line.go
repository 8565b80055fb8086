package plain

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/desk"
)

const usualWidth = 78 // columns

// Options is what a visit line by line needs.
type Options struct {
	Visit   *visiting.Visit
	Infer   visiting.Inferrer
	Summary func(*visiting.Visit) string
	Now     func() time.Time
	In      io.Reader
	Out     io.Writer
	Width   int // columns of the terminal, 0 for the usual ones

	Guide Guide     // of a guided practice; nil for a visit
	Home  desk.Home // what was said of the visit by those who reviewed it
}

// A Guide stands between a trainee and the visit of a guided practice.
type Guide interface {
	Measure(typed string) (lines []string, done bool) // what is done at the bench
	Read(p visiting.Prompt, typed string) (visiting.Answer, error)
	Caught(step string) // a reading that was talked about
	Given(a visiting.Answer)
}

// Run leads the visit until it is done, left, or the input ends, and reports
// whether it is done. Every answer confirmed by "Taken" is kept whatever happens.
func Run(opt Options) (done bool, err error) {
	if opt.Width <= 0 {
		opt.Width = usualWidth
	}
	t := &talk{Options: opt, lines: bufio.NewScanner(opt.In)}
	t.lines.Buffer(nil, longestLine)
	t.learn()
	t.showBelief()
	if open := opt.Visit.Procedure().OpenText(opt.Visit.State()); open != "" {
		t.sayf(words().OpenNow, open)
	}
	t.welcomeHome()
	for !t.left && t.err == nil {
		p, ok := t.prompt()
		if !ok && t.unkept != nil {
			if !t.tryAgain() {
				break
			}
			continue
		}
		if !ok && t.Home.Asked {
			if !t.answerHome() {
				break
			}
			continue
		}
		if !ok {
			t.print("")
			t.block(opt.Summary(opt.Visit))
			return true, t.err
		}
		if !t.quiet {
			t.show(p)
		}
		t.quiet = false
		t.ask(p)
		if t.err != nil {
			break // nobody could read the question
		}
		typed, ok := t.read()
		if !ok {
			t.err = t.lines.Err()
			t.leaveUndecided(p)
			break
		}
		t.hear(p, typed)
	}
	if t.unkept != nil {
		return false, errors.Join(t.err, t.full)
	}
	return false, t.err
}

// longestLine is what one answer may have [bytes]; a pipe that brings more is
// not a person.
const longestLine = 64 << 10

// A talk is one run: what was said last and where the person is.
type talk struct {
	Options
	lines  *bufio.Scanner
	known  belief.Input     // that the belief was inferred from
	err    error            // of writing out, or of reading what is typed
	unkept *visiting.Answer // the answer that could not be kept yet, nil for none
	full   error            // why it could not
	again  string           // the earlier step that is shown again, "" for the next one
	once   bool             // it is taken once more, not corrected
	doubt  string           // what was typed and doubted, "" if nothing
	quiet  bool             // do not show the step again
	left   bool
}

// prompt is the step to show: an earlier one again, or the next.
func (t *talk) prompt() (visiting.Prompt, bool) {
	if t.again != "" {
		if p, ok := t.Visit.PromptFor(t.again); ok {
			return p, true
		}
	}
	p := t.Visit.Prompt()
	return p, !p.Done
}

// read is the next line without anything that could act on a terminal.
func (t *talk) read() (string, bool) {
	if !t.lines.Scan() {
		return "", false
	}
	return strings.TrimSpace(plaintext.Clean(t.lines.Text())), true
}

// hear does what was typed: a command, or the answer to p.
func (t *talk) hear(p visiting.Prompt, typed string) {
	word, rest, _ := strings.Cut(typed, " ")
	rest = strings.TrimSpace(rest)
	if c, ok := commands[strings.ToLower(word)]; ok && (rest == "" || c.takesText) {
		t.doubt = ""
		c.do(t, p, rest)
		return
	}
	if t.unkept != nil {
		if typed == "" {
			t.give(*t.unkept)
		} else { // of a pipe, say: it belongs to a later step
			t.tellUnkept()
		}
		return
	}
	if t.Guide != nil {
		if lines, done := t.Guide.Measure(typed); done {
			for _, l := range lines {
				t.say(l)
			}
			t.quiet = true
			return
		}
	}
	t.answer(p, typed)
}

func (t *talk) answer(p visiting.Prompt, typed string) {
	read := t.Visit.Read
	if t.Guide != nil {
		read = t.Guide.Read
	}
	if t.doubt != "" {
		if strings.EqualFold(typed, "yes") || strings.EqualFold(typed, "y") {
			typed = t.doubt
		}
		if typed == t.doubt {
			read = t.Visit.ReadAnyway
		}
		t.doubt = ""
	}
	a, err := read(p, typed)
	if doubt := (*visiting.Doubt)(nil); errors.As(err, &doubt) {
		t.sayf(words().Doubt, doubt.Reason)
		if t.Guide != nil {
			t.Guide.Caught(p.Step.ID)
		}
		t.doubt, t.quiet = typed, true
		return
	}
	if err != nil {
		t.sayf(words().Problem, err)
		t.quiet = true
		return
	}
	t.give(a)
}

// give keeps an answer and says what it did to the belief.
func (t *talk) give(a visiting.Answer) {
	a.At = t.Now()
	a.Repeats = a.Repeats || t.once && a.Kind == visiting.Took
	if err := t.Visit.Give(a); err != nil {
		t.unkept, t.full = &a, err
		t.tellUnkept()
		return
	}
	t.unkept = nil
	t.Home.Asked = false
	if t.Guide != nil {
		t.Guide.Given(a)
	}
	if a.Kind == visiting.Note {
		t.say(words().Noted)
		t.quiet = true
		return
	}
	t.again, t.once = "", false
	t.sayf(words().Taken, visiting.TakesText(t.Visit.Takes(a.Step)))
	for _, f := range visiting.FindingsOf(t.Visit.Procedure(), a) {
		t.sayf(words().PutRight, f)
	}
	if !reflect.DeepEqual(t.Visit.Input(), t.known) { // what is seen only may leave it as it was
		t.learn()
		t.showBelief()
	} else {
		t.conclude() // the last steps of a visit teach nothing
	}
}

// tellUnkept says why an answer is not kept, and what to do so that it is.
func (t *talk) tellUnkept() {
	t.sayf(words().Problem, t.full)
	t.say(words().Unkept)
	t.quiet = true
}

// tryAgain hears whether to try to keep the last answer of a visit again, and reports
// false where the input ends.
func (t *talk) tryAgain() bool {
	typed, ok := t.read()
	switch {
	case !ok:
		t.err = t.lines.Err()
	case typed == "":
		t.give(*t.unkept)
	case strings.EqualFold(typed, "leave"):
		t.left = true
	default:
		t.tellUnkept()
	}
	return ok
}

// learn infers the belief from what is known now.
func (t *talk) learn() {
	t.known = t.Visit.Input()
	r, err := t.Infer(t.Visit.Input())
	if err != nil {
		t.sayf(words().NoBelief, err)
		return
	}
	t.Visit.Learn(t.Visit.Seq(), r)
	t.conclude()
}

// conclude keeps what is believed at the end of the visit, where this is it.
func (t *talk) conclude() {
	if err := t.Visit.Conclude(); err != nil {
		t.say(err.Error())
	}
}

// What is shown after each answer.
const (
	mostShown = 3
	leastP    = 0.05
)

func (t *talk) showBelief() {
	r := visiting.Told(t.Visit.Belief(), t.Visit.Input().Readings)
	if r == nil || t.Visit.Procedure().Ended(t.Visit.State()) != "" {
		return // nobody who has to go out reads that all may be well
	}
	w := words()
	t.print("")
	t.say(w.Belief)
	t.standings(r, t.Visit.Before())
}

// standings lists the leading conditions with the change from before, and the
// state.
func (t *talk) standings(r, before *belief.Result) {
	w := words()
	for i, s := range visiting.Leading(r, before, mostShown, leastP) {
		text := fmt.Sprintf(w.Standing, i+1, s.Title, visiting.Likelihood(s.P), visiting.Percent(s.P))
		if before != nil {
			text += upDown(int(100*s.P+0.5) - int(100*(s.P-s.Change)+0.5))
		}
		t.indentedf("  ", "%s", text)
	}
	t.sayf(w.State, visiting.StateLine(t.Visit.Site(), r))
}

func upDown(points int) string {
	switch {
	case points > 0:
		return fmt.Sprintf(words().Up, points)
	case points < 0:
		return fmt.Sprintf(words().Down, -points)
	default:
		return ""
	}
}

// show asks a step.
func (t *talk) show(p visiting.Prompt) {
	s, w := p.Step, words()
	t.print("")
	if s.RungTitle == "" {
		t.sayf(w.Step, s.Title)
	} else {
		t.sayf(w.StepOf, s.Title, s.RungTitle)
	}
	for _, said := range t.Home.Steps[s.ID] {
		t.sayf(w.Comment, said)
	}
	switch {
	case p.Once:
		t.sayf(w.Recheck, p.Why)
		t.sayf(w.Once, visiting.TakesText(t.Visit.Takes(s.ID)))
	case t.once && p.Given != nil:
		t.sayf(w.Once, visiting.TakesText(t.Visit.Takes(s.ID)))
	case p.Given != nil:
		t.sayf(w.Given, visiting.TakesText(t.Visit.Takes(s.ID)))
	}
	for _, l := range []struct{ form, text string }{
		{w.Caution, s.Caution}, {w.Purpose, s.Purpose}, {w.Do, s.Do}, {w.Meter, s.Meter},
		{w.where(s), s.Probes}, {w.Who, s.Who}, {w.Minutes, fmt.Sprintf("%g", s.Minutes)}, {w.Before, p.AsFound}, {w.Expected, expected(p)}, {w.Normal, p.Normal},
	} {
		if l.text != "" {
			t.sayf(l.form, l.text)
		}
	}
	for i, c := range slices.Concat(p.Step.Checks, p.Step.Choices) {
		t.indentedf("  ", w.Choice, i+1, c.Text)
	}
}

// where says what goes to the place that the step names.
func (w wordList) where(s procedure.Step) string {
	switch {
	case s.Clamp != "":
		return w.Clamp
	case s.Red != "":
		return w.Probes
	default:
		return w.Place
	}
}

func (t *talk) ask(p visiting.Prompt) {
	if t.doubt == "" && t.unkept == nil {
		t.sayf(words().Answer, p.Hint)
	}
}

// expected is the range a number should lie in by the present belief.
func expected(p visiting.Prompt) string {
	if p.Expected == nil {
		return ""
	}
	return visiting.FormatRange(*p.Expected, p.Spec)
}

// say prints a paragraph.
func (t *talk) say(text string) { t.indentedf("", "%s", text) }

func (t *talk) sayf(form string, args ...any) { t.indentedf("", form, args...) }

// indentedf prints a paragraph with a margin; what comes of files and people is
// made safe for the terminal.
func (t *talk) indentedf(margin, form string, args ...any) {
	text := fmt.Sprintf(form, args...)
	for _, l := range plaintext.Wrap(text, t.Width-len(margin)) {
		t.print(margin + l)
	}
}

func (t *talk) print(line string) { t.block(line + "\n") }

func (t *talk) block(text string) {
	if _, err := io.WriteString(t.Out, text); err != nil && t.err == nil {
		t.err = err
	}
}
