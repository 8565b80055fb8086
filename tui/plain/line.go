package plain

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/physics/quantity"
)

// Options is what a visit line by line needs.
type Options struct {
	Visit   conversation.Visit // a guided practice is a [conversation.Bench] too
	Infer   visiting.Inferrer
	Summary func() string
	Now     func() time.Time
	In      io.Reader
	Out     io.Writer
	Width   int // columns of the terminal, 0 for the usual ones

	Home desk.Home // what was said of the visit by those who reviewed it
}

// Run leads the visit until it is done, left, or the input ends, and reports
// whether it is done. Every answer confirmed by "Taken" is kept whatever happens.
func Run(opt Options) (done bool, err error) {
	l := &lines{
		voice: newVoice(opt.In, opt.Out, opt.Width), Talk: conversation.New(opt.Visit, opt.Infer, opt.Now), summary: opt.Summary, home: opt.Home,
	}
	l.learn()
	l.showBelief()
	if open := l.Leaving().Text; open != "" {
		l.sayf(words().OpenNow, open)
	}
	l.welcomeHome()
	for !l.left && l.err == nil {
		if l.Open() && !l.quiet {
			l.next()
		}
		p := l.Prompt()
		switch {
		case p.Done && l.Unkept():
			l.tryAgain()
			continue
		case p.Done && l.home.Asked:
			l.answerHome()
			continue
		case p.Done:
			l.print("")
			l.block(l.summary())
			return true, l.err
		}
		if !l.quiet {
			l.show(p)
		}
		l.quiet = false
		l.ask(p)
		if l.err != nil {
			break // nobody could read the question
		}
		typed, ok := l.read()
		if !ok {
			l.leaveUndecided()
			break
		}
		l.hear(typed)
	}
	if l.Unkept() {
		return false, errors.Join(l.err, l.full)
	}
	return false, l.err
}

// Lines is one run: a conversation with what is typed and told line by line.
type lines struct {
	*voice
	*conversation.Talk
	summary func() string
	home    desk.Home
	full    error // why the last answer could not be kept
}

// next turns to the open question.
func (l *lines) next() {
	if _, err := l.Ask(); err != nil {
		l.say(err.Error())
	}
}

// hear does what was typed: a command, or the answer to the question shown.
func (l *lines) hear(typed string) {
	word, rest, _ := strings.Cut(typed, " ")
	rest = strings.TrimSpace(rest)
	if c, ok := commands[strings.ToLower(word)]; ok && (rest == "" || c.takesText) {
		l.Correct()
		l.quiet = !c.shows
		c.do(l, rest)
		return
	}
	if l.Unkept() {
		if typed == "" {
			l.taken(l.Retry())
		} else { // of a pipe, say: it belongs to a later step
			l.tellUnkept()
		}
		return
	}
	if bench, ok := l.Bench(); ok {
		if said, done := bench.Measure(typed); done {
			for _, line := range said {
				l.say(line)
			}
			l.quiet = true
			return
		}
	}
	if l.Doubt() != nil && (strings.EqualFold(typed, "yes") || strings.EqualFold(typed, "y")) {
		typed = l.Doubted()
	}
	l.taken(l.Answer(typed))
}

// taken says what became of an answer: kept, with what it did to the belief; doubted;
// or not kept.
func (l *lines) taken(err error) {
	l.full = err
	switch {
	case err == nil:
	case l.Doubt() != nil:
		l.sayf(words().Doubt, l.Doubt().Reason)
		l.quiet = true
		return
	case l.Unkept():
		l.tellUnkept()
		return
	default:
		l.problem(err)
		return
	}
	l.home.Asked = false
	last := l.Last()
	if last.Kind == visiting.Note {
		l.say(words().Noted)
		l.quiet = true
		return
	}
	l.quiet = false
	l.sayf(words().Taken, last.Text)
	for _, f := range last.Findings {
		l.sayf(words().ToRepair, f)
	}
	if l.learn() { // what is seen only may leave it as it was
		l.showBelief()
	}
}

// problem says why something was not done.
func (l *lines) problem(err error) {
	l.sayf(words().Problem, err)
	l.quiet = true
}

// tellUnkept says why an answer is not kept, and what to do so that it is.
func (l *lines) tellUnkept() {
	l.problem(l.full)
	l.say(words().Unkept)
}

// tryAgain hears whether to try to keep the last answer of a visit again.
func (l *lines) tryAgain() {
	typed, ok := l.read()
	switch {
	case !ok:
		l.left = true
	case typed == "":
		l.taken(l.Retry())
	case strings.EqualFold(typed, "leave"):
		l.left = true
	default:
		l.tellUnkept()
	}
}

// learn infers the belief from what is known now; false where nothing new is.
func (l *lines) learn() bool {
	work, ok := l.Work()
	if !ok {
		return false
	}
	if _, err := l.Talk.Learn(work.Do()); err != nil {
		l.sayf(words().Problem, err)
	}
	return true
}

// What is shown after each answer.
const (
	mostShown = 3
	leastP    = 0.05
)

func (l *lines) showBelief() {
	r := visiting.Told(l.Visit().Belief(), l.Visit().Input().Readings)
	if r == nil || l.Visit().Procedure().Ended(l.Visit().State()) != "" {
		return // nobody who has to go out reads that all may be well
	}
	w := words()
	l.print("")
	if visiting.Found(r) {
		l.say(w.Found)
	} else {
		l.say(w.Belief)
	}
	l.standings(r, l.Visit().Before())
	if told := l.Visit().Together(); told.Text != "" {
		l.sayf(w.Together, told.Text)
	}
}

// standings lists the leading conditions with the change from before, and the
// state.
func (l *lines) standings(r, before *belief.Result) {
	w := words()
	for i, s := range visiting.Leading(r, before, mostShown, leastP) {
		text := fmt.Sprintf(w.Standing, i+1, s.Title, visiting.Likelihood(s.P), quantity.Percent(s.P))
		if before != nil {
			text += upDown(int(100*s.P+0.5) - int(100*(s.P-s.Change)+0.5))
		}
		l.indentedf("  ", "%s", text)
	}
	l.sayf(w.State, visiting.StateLine(l.Visit().Site(), r))
	if rest, known := l.Visit().Ahead(); known {
		l.sayf(w.Ahead, rest.MinMinutes, rest.MaxMinutes, rest.Readings)
	}
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
func (l *lines) show(p visiting.Prompt) {
	s, w := p.Step, words()
	l.print("")
	if sheet, ok := l.Sheet(); ok && l.Open() {
		l.sayf(w.Sheet, sheet.Title, sheet.Here()+1, len(sheet.Rows))
	}
	if s.RungTitle == "" {
		l.sayf(w.Step, s.Title)
	} else {
		l.sayf(w.StepOf, s.Title, s.RungTitle)
	}
	for _, said := range l.home.Steps[s.ID] {
		l.sayf(w.Comment, said)
	}
	switch {
	case p.Once:
		l.sayf(w.Why, p.Why)
		l.sayf(w.Once, visiting.TakesText(l.Visit().Takes(s.ID)))
	case l.Repeating() && p.Given != nil:
		l.sayf(w.Once, visiting.TakesText(l.Visit().Takes(s.ID)))
	case p.Given != nil:
		l.sayf(w.Given, visiting.TakesText(l.Visit().Takes(s.ID)))
	}
	for _, part := range []struct{ form, text string }{
		{w.Caution, s.Caution}, {w.Purpose, s.Purpose}, {w.Do, s.Do}, {w.Meter, s.Meter},
		{w.where(s), s.Probes}, {w.Who, s.Who}, {w.Minutes, fmt.Sprintf("%g", s.Minutes)}, {w.Before, p.AsFound}, {w.Expected, expected(p)}, {w.Normal, p.Normal},
	} {
		if part.text != "" {
			l.sayf(part.form, part.text)
		}
	}
	for i, c := range slices.Concat(p.Step.Checks, p.Step.Choices) {
		l.indentedf("  ", w.Choice, i+1, c.Text)
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

func (l *lines) ask(p visiting.Prompt) {
	if l.Doubt() == nil && !l.Unkept() {
		l.sayf(words().Answer, p.Hint)
	}
}

// expected is the range a number should lie in by the present belief.
func expected(p visiting.Prompt) string {
	if p.Expected == nil {
		return ""
	}
	return visiting.FormatRange(*p.Expected, p.Spec)
}
