package conversation

import (
	"errors"
	"fmt"
	"slices"
	"time"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A Visit is what a conversation is about; [visiting.Visit] is one.
type Visit interface {
	Site() *site.Site
	Head() visiting.Head
	Input() belief.Input
	Seq() int
	Learn(seq int, r *belief.Result) bool
	Conclude() error
	Belief() *belief.Result
	Before() *belief.Result
	Prompt() visiting.Prompt
	PromptFor(step string) (visiting.Prompt, bool)
	Read(p visiting.Prompt, typed string) (visiting.Answer, error)
	ReadAnyway(p visiting.Prompt, typed string) (visiting.Answer, error)
	Give(a visiting.Answer) error
	Answers() []visiting.Answer
	Takes(step string) []visiting.Answer
	Notes() []visiting.Answer
	State() procedure.State
	Procedure() *procedure.Procedure
	Ahead() (rest visiting.Rest, known bool)
	Together() visiting.Telling
}

// A Bench stands in place of the plant in a guided practice. A [Visit] that is one too
// is asked what a trainee does there.
type Bench interface {
	// Measure does at the bench what was typed; done is false for what is not done there.
	Measure(typed string) (lines []string, done bool)
	// Understand reads what is typed so far, and does not tell whether it is right.
	Understand(p visiting.Prompt, typed string) (visiting.Answer, error)
	// Caught hears of a doubt that the trainee was shown.
	Caught(step string)
}

// A Talk is one conversation: the visit, and where the person is in it.
type Talk struct {
	visit Visit
	infer visiting.Inferrer
	now   func() time.Time

	prompt visiting.Prompt
	shown  string // the earlier step that is shown again, "" for the open question
	again  bool   // it is taken once more, not corrected

	doubt   *visiting.Doubt
	doubted string // what was typed then

	unkept *visiting.Answer // the answer that could not be kept yet
	last   Heard
	known  *belief.Input // that the belief was inferred from
}

// New begins a conversation on a visit, new or continued. Ask for [Talk.Work] first.
func New(v Visit, infer visiting.Inferrer, now func() time.Time) *Talk {
	return &Talk{visit: v, infer: infer, now: now}
}

// Visit is what it is about.
func (t *Talk) Visit() Visit { return t.visit }

// Bench is where a trainee measures; false for a real visit.
func (t *Talk) Bench() (Bench, bool) {
	b, ok := t.visit.(Bench)
	return b, ok
}

// Ask turns to the open question; its prompt is Done where nothing is left. The error
// says that the end of the visit could not be kept.
func (t *Talk) Ask() (visiting.Prompt, error) {
	t.show(t.visit.Prompt(), "")
	if !t.prompt.Done {
		return t.prompt, nil
	}
	return t.prompt, t.visit.Conclude()
}

func (t *Talk) show(p visiting.Prompt, step string) {
	t.prompt, t.shown, t.again = p, step, p.Once
	t.Correct()
}

// Prompt is the question that is shown: the open one, or an earlier one again.
func (t *Talk) Prompt() visiting.Prompt { return t.prompt }

// Open reports whether the open question is shown.
func (t *Talk) Open() bool { return t.shown == "" }

// Repeating reports whether the reading shown is taken once more, beside what it was.
func (t *Talk) Repeating() bool { return t.again }

// Doubt is the doubt in what was typed last, nil for none. The same typed again is kept
// as doubted.
func (t *Talk) Doubt() *visiting.Doubt { return t.doubt }

// Doubted is what was typed when the doubt came.
func (t *Talk) Doubted() string { return t.doubted }

// Correct drops the doubt: something else will be typed.
func (t *Talk) Correct() { t.doubt, t.doubted = nil, "" }

// Answer gives the answer that was typed. A [*visiting.Doubt] is said once; any other error
// says what is expected, or why the answer could not be kept ([Talk.Unkept]).
func (t *Talk) Answer(typed string) error {
	read := t.visit.Read
	if t.doubt != nil && typed == t.doubted {
		read = t.visit.ReadAnyway
	}
	t.Correct()
	a, err := read(t.prompt, typed)
	if doubt := (*visiting.Doubt)(nil); errors.As(err, &doubt) {
		t.doubt, t.doubted = doubt, typed
		if b, ok := t.Bench(); ok {
			b.Caught(t.prompt.Step.ID)
		}
	}
	if err != nil {
		return err
	}
	a.Repeats = a.Repeats || t.again && a.Kind == visiting.Took
	return t.give(a)
}

// Understand is the answer that what is typed so far would give. It keeps nothing.
func (t *Talk) Understand(typed string) (visiting.Answer, error) {
	if b, ok := t.Bench(); ok {
		return b.Understand(t.prompt, typed)
	}
	return t.visit.Read(t.prompt, typed)
}

// Reasons are what can be chosen for [Talk.Cannot] or, with stop, for [Talk.Stop].
func (t *Talk) Reasons(kind visiting.AnswerKind) procedure.Choices {
	switch own := t.prompt.Step.Reasons; {
	case kind == visiting.Stop:
		return words().Stop
	case len(own) > 0:
		return own
	default:
		return words().Cannot
	}
}

// Cannot keeps that the step shown cannot be done, for a reason of the list or in words
// of one's own.
func (t *Talk) Cannot(why procedure.Choice) error {
	a := visiting.CannotFor(t.prompt, why)
	a.Repeats = a.Repeats || t.again
	return t.give(a)
}

// Stop ends the probing: what is open is put back, then the visit ends.
func (t *Talk) Stop(why procedure.Choice) error {
	return t.give(visiting.Answer{
		Step: t.prompt.Step.ID, Kind: visiting.Stop, Why: why.ID, Reason: why.Text, Repeats: t.prompt.Once || t.again,
	})
}

// Note keeps words on the step shown, or on the one answered last.
func (t *Talk) Note(text string) error {
	step := t.prompt.Step.ID
	if answers := t.visit.Answers(); step == "" && len(answers) > 0 {
		step = answers[len(answers)-1].Step
	}
	return t.give(visiting.Answer{Step: step, Kind: visiting.Note, Reason: text})
}

// give keeps an answer. After it the open question is the one to ask.
func (t *Talk) give(a visiting.Answer) error {
	a.At = t.now()
	if err := t.visit.Give(a); err != nil {
		t.unkept = &a
		return err
	}
	t.unkept = nil
	t.last = t.heard(a)
	if a.Kind != visiting.Note {
		t.shown, t.again = "", false
		t.Correct()
	}
	return nil
}

// Unkept reports whether an answer waits because it could not be kept.
func (t *Talk) Unkept() bool { return t.unkept != nil }

// Retry tries to keep the answer that waits.
func (t *Talk) Retry() error {
	if t.unkept == nil {
		return nil
	}
	return t.give(*t.unkept)
}

// Heard is the answer kept last, as it is told.
type Heard struct {
	Kind     visiting.AnswerKind
	Step     string
	Title    string // of the step
	Text     string // all values that stand
	Findings []visiting.Finding
}

// Last is the answer kept last in this conversation.
func (t *Talk) Last() Heard { return t.last }

func (t *Talk) heard(a visiting.Answer) Heard {
	return Heard{
		Kind: a.Kind, Step: a.Step, Title: t.title(a.Step), Text: visiting.TakesText(t.visit.Takes(a.Step)),
		Findings: visiting.FindingsOf(t.visit.Procedure(), a),
	}
}

// Answers are those that stand, in the order of first answering.
func (t *Talk) Answers() []Heard {
	answers := t.visit.Answers()
	list := make([]Heard, len(answers))
	for i, a := range answers {
		list[i] = Heard{Kind: a.Kind, Step: a.Step, Title: t.title(a.Step), Text: visiting.TakesText(t.visit.Takes(a.Step))}
	}
	return list
}

// Notes are the notes with the titles of their steps.
func (t *Talk) Notes() []Heard {
	var list []Heard
	for _, n := range t.visit.Notes() {
		list = append(list, Heard{Kind: n.Kind, Step: n.Step, Title: t.title(n.Step), Text: n.Text()})
	}
	return list
}

func (t *Talk) title(step string) string {
	if p, ok := t.visit.PromptFor(step); ok {
		return p.Step.Title
	}
	if s, ok := t.visit.Procedure().Step(step); ok {
		return s.Title
	}
	return step
}

// Measured reports whether a was taken with an instrument or the eye, so that it can be
// taken once more.
func measured(a visiting.Answer) bool {
	return a.Kind == visiting.Took && a.Reading != "" && a.Reading != reading.Visit
}

// at is the place of the question shown among the answers, their number for the open one.
func (t *Talk) at(answers []visiting.Answer) int {
	if i := slices.IndexFunc(answers, func(a visiting.Answer) bool { return a.Step == t.shown }); i >= 0 {
		return i
	}
	return len(answers)
}

// At is the place of the question shown among [Talk.Answers], their number for the open one.
func (t *Talk) At() int { return t.at(t.visit.Answers()) }

// Show shows an answered step again, so that it can be changed.
func (t *Talk) Show(step string) bool {
	p, ok := t.visit.PromptFor(step)
	if ok {
		t.show(p, step)
	}
	return ok
}

// ShowNumber shows the answer of that number in [Talk.Answers], from 1.
func (t *Talk) ShowNumber(typed string, n int) error {
	answers := t.visit.Answers()
	if n < 1 || n > len(answers) || !t.Show(answers[n-1].Step) {
		return Problem(fmt.Sprintf(words().NoAnswer, typed))
	}
	return nil
}

// Back shows the answer before the one shown.
func (t *Talk) Back() error {
	answers := t.visit.Answers()
	i := t.at(answers) - 1
	if i < 0 || !t.Show(answers[i].Step) {
		return Problem(words().First)
	}
	return nil
}

// Forward leaves the answer shown as it was, and shows the next one; false where the
// open question is next: [Talk.Ask] for it.
func (t *Talk) Forward() bool {
	answers := t.visit.Answers()
	i := t.at(answers) + 1
	return i < len(answers) && t.Show(answers[i].Step)
}

// Again asks once more for the reading shown, or for the last one taken where the open
// question is shown. What it was stays beside it.
func (t *Talk) Again() error {
	answers := t.visit.Answers()
	from := min(t.at(answers), len(answers)-1)
	for i := from; i >= 0; i-- {
		switch {
		case measured(answers[i]) && t.Show(answers[i].Step):
			t.again = true
			return nil
		case !t.Open():
			return Problem(words().NotAReading)
		}
	}
	return Problem(words().NoReading)
}

// A Leaving is what is not as it should be when the visit is left now.
type Leaving struct {
	Open   []procedure.Step // what would put it back
	Text   string           // what is open, "" for nothing
	Danger procedure.Danger // the worst that is not made safe; without a title: none
}

// Free reports whether the person can simply go.
func (l Leaving) Free() bool { return len(l.Open) == 0 && l.Text == "" && l.Danger.Title == "" }

// Leaving says how things stand for who leaves now.
func (t *Talk) Leaving() Leaving {
	p, st := t.visit.Procedure(), t.visit.State()
	l := Leaving{Open: p.Restore(st), Text: p.OpenText(st)}
	if d, ok := p.Unsafe(st); ok {
		l.Danger = d
	}
	return l
}

// Leave keeps that the visit is left with something open and what was decided about it,
// "" for nothing. Where nothing is open there is nothing to keep. An answer that waits to
// be kept goes on waiting.
func (t *Talk) Leave(decision string) error {
	text := t.Leaving().Text
	if text == "" {
		return nil
	}
	waiting := t.unkept
	err := t.Note(visiting.LeftWith(text, decision))
	if waiting != nil {
		t.unkept = waiting
	}
	return err
}

// asksNumber reports whether the question shown can be tried with a number.
func (t *Talk) asksNumber() bool {
	return t.prompt.Step.Reading != "" && t.prompt.Spec.Form != reading.Word
}
