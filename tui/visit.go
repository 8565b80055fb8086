package tui

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/reading"
)

// thoughtMsg brings what an inference came to.
type thoughtMsg struct{ conversation.Thought }

// visitScreen asks one step at a time.
type visitScreen struct {
	talk    *conversation.Talk
	v       conversation.Visit // that it is about
	summary func(columns int, ahead *outlook.Outlook) string
	look    lookAhead
	said    map[string][]string // comments of those who reviewed it, by steps

	prompt visiting.Prompt
	field  field // for what is typed
	menu   menu  // for what is chosen
	drafts map[string]string

	answers []conversation.Heard
	waiting bool // for the belief that decides the open question

	onRow     bool // the line of other things to do has the focus
	action    int
	check     checked // what is typed so far, as it is understood
	problem   string
	notice    string
	foundOpen string // what was open when the visit was gone on with, until the next answer
	lost      string // what a damaged journal lost, until the next answer
}

func newVisit(opt *Options, v conversation.Visit, summary func(columns int, ahead *outlook.Outlook) string) visitScreen {
	talk := conversation.New(v, opt.Infer, func() time.Time { return opt.Now() })
	return visitScreen{talk: talk, v: v, summary: summary, look: opt.Outlook, waiting: true, drafts: map[string]string{}}
}

func (s visitScreen) visit() visitScreen { return s }

// open reports whether the open question is shown, not an earlier one again.
func (s visitScreen) open() bool { return s.talk.Open() }

// benched reports whether the visit is a guided practice.
func (s visitScreen) benched() bool {
	_, ok := s.v.(benched)
	return ok
}

// working reports whether there is no question to show yet.
func (s visitScreen) working() bool { return s.waiting && s.open() }

func (s visitScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case beginMsg:
		s.answers = s.talk.Answers()
		s.foundOpen = s.talk.Leaving().Text
		return s.proceed()
	case thoughtMsg:
		return s.learn(msg.Thought)
	case tea.KeyMsg:
		return s.key(e, msg)
	}
	return s, nil
}

// proceed has the belief inferred where the answers changed what is known, and
// then asks the next question.
func (s visitScreen) proceed() (screen, tea.Cmd) {
	work, ok := s.talk.Work()
	if !ok {
		return s.ask()
	}
	s.waiting = true
	return s, func() tea.Msg { return thoughtMsg{work.Do()} }
}

// learn takes what an inference came to. One that later answers have overtaken is
// dropped: the one that belongs to them is on its way.
func (s visitScreen) learn(t conversation.Thought) (screen, tea.Cmd) {
	ok, err := s.talk.Learn(t)
	if !ok {
		return s, nil
	}
	s.waiting = false
	failed := ""
	if err != nil {
		failed = err.Error()
	}
	if !s.open() {
		s.notice = failed
		return s, nil
	}
	next, cmd := s.ask()
	if vs, ok := next.(visitScreen); ok && failed != "" {
		vs.problem = failed
		return vs, cmd
	}
	return next, cmd
}

// ask shows the open question, or the summary when nothing is left.
func (s visitScreen) ask() (screen, tea.Cmd) {
	s.waiting = false
	p, err := s.talk.Ask()
	if err != nil {
		s.notice = err.Error()
	}
	if p.Done {
		return newSummary(s)
	}
	return s.show(), nil
}

// show puts the question of the conversation on the screen, with what was answered or
// half typed.
func (s visitScreen) show() visitScreen {
	p := s.talk.Prompt()
	s.prompt, s.problem, s.onRow, s.action = p, "", false, 0
	was := ""
	if p.Given != nil && !p.Once {
		was = p.Given.Typed
	}
	if draft, ok := s.drafts[p.Step.ID]; ok {
		was = draft
	}
	switch items := choices(p); {
	case p.Step.Kind == procedure.Choose, len(p.Step.Checks) > 0:
		var on []string
		if p.Given != nil {
			on = p.Given.Chosen
		}
		s.menu = newMarks(items, on)
	case len(items) > 0:
		s.menu = newMenu(items)
		if p.Step.Kind != procedure.Act || len(items) > 1 {
			s.menu.at = unchosen
		}
		if p.Given != nil && !p.Once {
			s.menu = s.menu.startAt(chosenID(*p.Given))
		}
	default:
		s.menu, s.field = menu{}, newAnswer(was)
	}
	s.check = s.understood()
	return s
}

// choices are what a prompt is answered with, nil where it is typed.
func choices(p visiting.Prompt) []item {
	switch {
	case len(p.Step.Checks) > 0:
		return p.Step.Checks
	case len(p.Step.Choices) > 0:
		return p.Step.Choices
	case p.Step.Kind == procedure.Act:
		return procedure.Named(procedure.ActDone)
	case p.Step.Kind == procedure.Confirm:
		return procedure.Named("yes", "no")
	case p.Spec.Form == reading.Word:
		return procedure.Named(p.Spec.Choices...)
	}
	return nil
}

// typed reports whether the answer is typed and not chosen.
func (s visitScreen) typed() bool { return len(s.menu.items) == 0 && !s.menu.many }

// answer is what Enter would give now: chosen words of the site by their
// numbers, since they may hold commas or be numbers themselves.
func (s visitScreen) answer() string {
	step := s.prompt.Step
	switch {
	case s.typed():
		return s.field.text()
	case s.menu.many && len(s.menu.chosen()) == 0:
		return "none"
	case s.menu.many:
		return strings.Join(s.menu.numbers(), " ")
	case len(step.Choices) == 0 && step.Kind != procedure.Take:
		return s.menu.item().ID
	default:
		return strconv.Itoa(s.menu.at + 1)
	}
}

// unchanged reports whether the answer shown again is left as it was.
func (s visitScreen) unchanged() bool {
	g := s.prompt.Given
	switch {
	case g == nil || g.Kind == visiting.Cannot || g.Kind == visiting.Stop || s.talk.Repeating():
		return false
	case s.typed():
		return g.Typed == s.field.text()
	case s.menu.many:
		return slices.Equal(g.Chosen, s.menu.chosen())
	default:
		return chosenID(*g) == s.menu.item().ID
	}
}

// chosenID is the id of the line of the menu that was chosen.
func chosenID(a visiting.Answer) string {
	if len(a.Chosen) == 1 {
		return a.Chosen[0]
	}
	return a.Word
}

func (s visitScreen) typing() typing {
	switch {
	case s.working() || s.onRow || !s.typed():
		return nothing
	case s.prompt.Step.Kind == procedure.Say:
		return words
	}
	return figures
}

func (s visitScreen) key(e env, msg tea.KeyMsg) (screen, tea.Cmd) {
	if msg.Paste {
		return s.edit(msg), nil
	}
	actions := s.actions()
	if i := pressed(msg, actions); i >= 0 {
		return s.act(e, actions[i])
	}
	switch {
	case key.Matches(msg, keys.Back):
		return s.back(e)
	case s.onRow:
		return s.onActions(e, msg, actions)
	case s.working():
		return s.toRow(msg), nil
	case key.Matches(msg, keys.Enter):
		return s.enter(e)
	}
	return s.edit(msg), nil
}

// edit changes what is typed or chosen.
func (s visitScreen) edit(msg tea.KeyMsg) visitScreen {
	switch {
	case s.working(), s.onRow, msg.Paste && !s.typed():
		return s
	case s.typed() && key.Matches(msg, keys.Down):
		return s.toRow(msg)
	case s.typed():
		before := s.field.text()
		s.field = s.field.update(msg)
		if s.field.text() != before {
			s.talk.Correct()
			s.problem, s.check = "", s.understood()
		}
		return s
	}
	m, used := s.menu.update(msg)
	if !used {
		return s.toRow(msg)
	}
	s.talk.Correct()
	s.menu, s.problem = m, ""
	return s
}

// toRow goes down to the line of other things to do.
func (s visitScreen) toRow(msg tea.KeyMsg) visitScreen {
	if key.Matches(msg, keys.Down) {
		s.onRow, s.action = true, 0
	}
	return s
}

func (s visitScreen) onActions(e env, msg tea.KeyMsg, actions []action) (screen, tea.Cmd) {
	switch {
	case key.Matches(msg, keys.Up):
		s.onRow = false
	case key.Matches(msg, keys.Enter):
		return s.act(e, actions[min(s.action, len(actions)-1)])
	default:
		s.action = moveAlong(msg, s.action, len(actions))
	}
	return s, nil
}

// enter gives the answer, or says what is wrong with it.
func (s visitScreen) enter(e env) (screen, tea.Cmd) {
	if s.unchanged() {
		return s.forward()
	}
	if !s.typed() && !s.menu.decided() {
		s.problem = undecided(s.menu)
		return s, nil
	}
	text := s.answer()
	switch {
	case text == "" && s.prompt.Step.Kind != procedure.Say:
		s.problem = visitWords().NothingTyped
		return s, nil
	}
	err := s.talk.Answer(text)
	if s.talk.Doubt() != nil {
		return s, nil
	}
	return s.given(err)
}

// undecided is what to say where Enter finds nothing chosen or marked.
func undecided(m menu) string {
	if m.many {
		return visitWords().NothingMarked
	}
	return visitWords().NothingChosen
}

// given goes on after an answer: to the open question, or, where it was not kept, to
// what is wrong.
func (s visitScreen) given(err error) (screen, tea.Cmd) {
	if err != nil {
		s.problem = err.Error()
		return s, nil
	}
	last := s.talk.Last()
	s = s.withDraft(last.Step, "")
	s.answers = s.talk.Answers()
	s.notice, s.foundOpen, s.lost = "", "", ""
	if last.Text != "" {
		s.notice = fmt.Sprintf(visitWords().Noted, last.Title, last.Text)
	}
	if last.Findings != nil {
		s.notice = visitWords().ToRepair
		for _, f := range last.Findings {
			s.notice += " " + f.Do
		}
	}
	s.problem, s.onRow = "", false
	return s.proceed()
}

// back leaves a doubt or a problem, the line of actions, or the question, in that order,
// and from the first question the visit. What is half typed waits for the question to be
// shown again.
func (s visitScreen) back(e env) (screen, tea.Cmd) {
	switch {
	case s.talk.Doubt() != nil || s.problem != "":
		s.talk.Correct()
		s.problem = ""
		return s, nil
	case s.onRow:
		s.onRow = false
		return s, nil
	}
	s = s.keepDraft()
	if s.talk.Back() != nil { // the first question
		if s.talk.Leaving().Free() && !s.benched() && e.opt.Close != nil {
			return s, toStart
		}
		return leave(e, s)
	}
	s.notice = ""
	return s.show(), nil
}

func (s visitScreen) keepDraft() visitScreen {
	if s.working() || !s.typed() {
		return s
	}
	text := s.field.text()
	if g := s.prompt.Given; text == "" || g != nil && g.Typed == text {
		return s
	}
	return s.withDraft(s.prompt.Step.ID, text)
}

// withDraft is s with what is half typed by its key, "" for nothing any more.
func (s visitScreen) withDraft(key, text string) visitScreen {
	s.drafts = maps.Clone(s.drafts)
	if s.drafts[key] = text; text == "" {
		delete(s.drafts, key)
	}
	return s
}

// showAnswer shows an earlier question again.
func (s visitScreen) showAnswer(step string) visitScreen {
	if !s.talk.Show(step) {
		return s
	}
	s.notice = ""
	return s.show()
}

// forward goes on from an earlier question left as it was.
func (s visitScreen) forward() (screen, tea.Cmd) {
	switch {
	case s.talk.Forward():
		s.notice = ""
		return s.show(), nil
	case s.waiting:
		return s, nil
	}
	return s.ask()
}
