// Package line leads a visit line by line, without a full-screen terminal: for
// screen readers, pipes and plain terminals. It asks the same steps of the same
// visit as the screens do, and writes the same whether a person or a pipe
// answers.
//
// Start with [Run] and [Options].
package line

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose"
	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/printable"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/reading"
	"ampwalk/tui/wiring"
)

const usualWidth = 78 // columns

// Options is what a visit line by line needs.
type Options struct {
	Visit   *diagnose.Visit
	Infer   diagnose.Inferrer
	Summary func(*diagnose.Visit) string
	Now     func() time.Time
	In      io.Reader
	Out     io.Writer
	Width   int // columns of the terminal, 0 for the usual ones
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
	for !t.left && t.err == nil {
		p, ok := t.prompt()
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
			break
		}
		t.hear(p, typed)
	}
	return false, t.err
}

// longestLine is what one answer may have [bytes]; a pipe that brings more is
// not a person.
const longestLine = 64 << 10

// A talk is one run: what was said last and where the person is.
type talk struct {
	Options
	lines *bufio.Scanner
	known belief.Input // that the belief was inferred from
	err   error        // of writing out or keeping an answer
	again string       // the earlier step that is shown again, "" for the next one
	once  bool         // it is taken once more, not corrected
	doubt string       // what was typed and doubted, "" if nothing
	quiet bool         // do not show the step again
	left  bool
}

// prompt is the step to show: an earlier one again, or the next.
func (t *talk) prompt() (diagnose.Prompt, bool) {
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
	return strings.TrimSpace(printable.Clean(t.lines.Text())), true
}

// hear does what was typed: a command, or the answer to p.
func (t *talk) hear(p diagnose.Prompt, typed string) {
	word, rest, _ := strings.Cut(typed, " ")
	rest = strings.TrimSpace(rest)
	if c, ok := commands[strings.ToLower(word)]; ok && (rest == "" || c.takesText) {
		t.doubt = ""
		c.do(t, p, rest)
		return
	}
	t.answer(p, typed)
}

func (t *talk) answer(p diagnose.Prompt, typed string) {
	read := t.Visit.Read
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
	if doubt := (*diagnose.Doubt)(nil); errors.As(err, &doubt) {
		t.sayf(words().Doubt, doubt.Reason)
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
func (t *talk) give(a diagnose.Answer) {
	a.At = t.Now()
	a.Repeats = t.once && a.Kind == diagnose.Took
	if err := t.Visit.Give(a); err != nil {
		t.err = err
		return
	}
	if a.Kind == diagnose.Note {
		t.say(words().Noted)
		t.quiet = true
		return
	}
	t.again, t.once = "", false
	t.sayf(words().Taken, diagnose.TakesText(t.Visit.Takes(a.Step)))
	if !reflect.DeepEqual(t.Visit.Input(), t.known) { // what is seen only may leave it as it was
		t.learn()
		t.showBelief()
	}
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
}

// What is shown after each answer.
const (
	mostShown = 3
	leastP    = 0.05
)

func (t *talk) showBelief() {
	r := t.Visit.Belief()
	if r == nil {
		return
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
	for i, s := range diagnose.Leading(r, before, mostShown, leastP) {
		text := fmt.Sprintf(w.Standing, i+1, s.Title, diagnose.Likelihood(s.P), diagnose.Percent(s.P))
		if before != nil {
			text += upDown(int(100*s.P+0.5) - int(100*(s.P-s.Change)+0.5))
		}
		t.indentedf("  ", "%s", text)
	}
	t.sayf(w.State, diagnose.StateLine(t.Visit.Site(), r))
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
func (t *talk) show(p diagnose.Prompt) {
	s, w := p.Step, words()
	t.print("")
	if s.RungTitle == "" {
		t.sayf(w.Step, s.Title)
	} else {
		t.sayf(w.StepOf, s.Title, s.RungTitle)
	}
	switch {
	case t.once && p.Given != nil:
		t.sayf(w.Once, diagnose.TakesText(t.Visit.Takes(s.ID)))
	case p.Given != nil:
		t.sayf(w.Given, diagnose.TakesText(t.Visit.Takes(s.ID)))
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
		t.indentedf("  ", w.Choice, i+1, c)
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

func (t *talk) ask(p diagnose.Prompt) {
	if t.doubt == "" {
		t.sayf(words().Answer, p.Hint)
	}
}

// expected is the range a number should lie in by the present belief.
func expected(p diagnose.Prompt) string {
	if p.Expected == nil {
		return ""
	}
	return diagnose.FormatRange(*p.Expected, p.Spec.Unit)
}

func (t *talk) why(p diagnose.Prompt) {
	w := words()
	if p.Why != "" {
		t.sayf(w.Why, p.Why)
	}
	for _, l := range []struct{ form, text string }{
		{w.Surprise, p.Step.Surprise}, {w.Needs, p.Step.RequiresText()}, {w.Changes, p.Step.ChangesText()},
		{w.Skip, p.Step.Skip}, {w.Source, p.Step.Source},
	} {
		if l.text != "" {
			t.sayf(l.form, l.text)
		}
	}
	r := t.Visit.Belief()
	if r == nil {
		return
	}
	if list := diagnose.ShownSentences(r, p.Step.Reading); len(list) > 0 {
		t.say(w.Shows)
		for _, s := range list {
			t.indentedf("  ", w.Reason, s)
		}
	}
	for _, s := range diagnose.StateSentences(t.Visit.Site(), r) {
		t.say(s)
	}
	for _, s := range t.Visit.Because(mostReasons) {
		t.indentedf("  ", w.Reason, s)
	}
	if r.Array != nil {
		t.say(diagnose.PointSentence(r.Array))
	}
}

const mostReasons = 5

// history lists the standing answers, numbered for back.
func (t *talk) history() {
	w, answers := words(), t.Visit.Answers()
	if len(answers) == 0 {
		t.say(w.NothingYet)
	}
	for i, a := range answers {
		t.indentedf("  ", w.Past, i+1, t.title(a.Step), diagnose.TakesText(t.Visit.Takes(a.Step)))
	}
	for _, n := range t.Visit.Notes() {
		t.indentedf("  ", w.PastNote, t.title(n.Step), n.Text())
	}
}

func (t *talk) title(step string) string {
	if p, ok := t.Visit.PromptFor(step); ok {
		return p.Step.Title
	}
	return step
}

// back shows the step before the one shown, or the one numbered in the history.
func (t *talk) back(p diagnose.Prompt, number string) {
	answers := t.Visit.Answers()
	i := len(answers)
	if at := slices.IndexFunc(answers, func(a diagnose.Answer) bool { return a.Step == p.Step.ID && t.again != "" }); at >= 0 {
		i = at
	}
	i--
	if number != "" {
		n, err := strconv.Atoi(number)
		if err != nil || n < 1 || n > len(answers) {
			t.sayf(words().Problem, fmt.Sprintf(words().NoNumber, number))
			t.quiet = true
			return
		}
		i = n - 1
	}
	if i < 0 {
		t.say(words().FirstStep)
		t.quiet = true
		return
	}
	t.again, t.once = answers[i].Step, false
}

// repeat asks for a reading once more: the one shown again, or the last one
// taken.
func (t *talk) repeat(p diagnose.Prompt) {
	took := func(a diagnose.Answer) bool { return a.Kind == diagnose.Took && a.Reading != "" }
	if t.again != "" && p.Given != nil && took(*p.Given) {
		t.once = true
		return
	}
	answers := t.Visit.Answers()
	for i := len(answers) - 1; i >= 0; i-- {
		if took(answers[i]) {
			t.again, t.once = answers[i].Step, true
			return
		}
	}
	t.say(words().NoReading)
	t.quiet = true
}

// whatIf says where an answer to the number asked for would lead.
func (t *talk) whatIf(p diagnose.Prompt, typed string) {
	t.quiet = true
	w := words()
	if p.Spec.Form == reading.Word || p.Step.Reading == "" {
		t.say(w.IfNumber)
		return
	}
	a, err := t.Visit.ReadAnyway(p, typed)
	if err != nil {
		t.sayf(w.Problem, err)
		return
	}
	r, err := diagnose.WhatIf(t.Visit.Input(), a, t.Infer)
	if err != nil {
		t.sayf(w.NoBelief, err)
		return
	}
	t.sayf(w.If, a.Text())
	t.standings(r, t.Visit.Belief())
}

// wiring tells the drawing of the site in words.
func (t *talk) wiring(p diagnose.Prompt) {
	for _, s := range wiring.Words(wiring.Of(t.Visit, p.Step)) {
		t.say(s)
	}
}

// cannot keeps that a step could not be done, with a reason of the list by its
// number or in free words.
func (t *talk) cannot(p diagnose.Prompt, reason string) {
	reasons := p.Step.Reasons
	if n, err := strconv.Atoi(reason); err == nil && n >= 1 && n <= len(reasons) {
		reason = reasons[n-1]
	}
	if reason == "" {
		w := words()
		if len(reasons) == 0 {
			t.say(w.WhyCannot)
		} else {
			t.say(w.WhyCannotNumber)
		}
		for i, r := range reasons {
			t.indentedf("  ", w.Choice, i+1, r)
		}
		t.quiet = true
		return
	}
	t.give(diagnose.Answer{Step: p.Step.ID, Kind: diagnose.Cannot, Reading: p.Step.Reading, Reason: reason})
}

func (t *talk) stop(p diagnose.Prompt, reason string) {
	t.inWords(p, diagnose.Stop, reason, words().WhyStop)
}

// leave ends the talk. Where something is open, who decided that it stays so is
// kept first.
func (t *talk) leave(p diagnose.Prompt, decision string) {
	switch open := t.Visit.Procedure().OpenText(t.Visit.State()); {
	case open == "":
		t.left = true
	case decision == "":
		t.sayf(words().StillOpen, open)
		t.quiet = true
	default:
		t.give(diagnose.Answer{Step: p.Step.ID, Kind: diagnose.Note, Reason: fmt.Sprintf(words().LeftSo, open, decision)})
		t.left = true
	}
}

func (t *talk) note(p diagnose.Prompt, text string) {
	t.inWords(p, diagnose.Note, text, words().WhatNote)
}

// inWords keeps what was said of a step, or asks for it where nothing was.
func (t *talk) inWords(p diagnose.Prompt, kind diagnose.AnswerKind, text, ask string) {
	if text == "" {
		t.say(ask)
		t.quiet = true
		return
	}
	t.give(diagnose.Answer{Step: p.Step.ID, Kind: kind, Reason: text})
}

// say prints a paragraph.
func (t *talk) say(text string) { t.indentedf("", "%s", text) }

func (t *talk) sayf(form string, args ...any) { t.indentedf("", form, args...) }

// indentedf prints a paragraph with a margin; what comes of files and people is
// made safe for the terminal.
func (t *talk) indentedf(margin, form string, args ...any) {
	text := fmt.Sprintf(form, args...)
	for _, l := range strings.Split(ansi.Wrap(printable.Clean(text), t.Width-len(margin), ""), "\n") {
		t.print(margin + strings.TrimRight(l, " "))
	}
}

func (t *talk) print(line string) { t.block(line + "\n") }

func (t *talk) block(text string) {
	if _, err := io.WriteString(t.Out, text); err != nil && t.err == nil {
		t.err = err
	}
}
