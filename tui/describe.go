package tui

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
)

// describeScreen asks what is installed at a site, one question a screen. Every
// answer is in the file before the next question.
type describeScreen struct {
	start startScreen
	path  string
	draft siteform.Draft
	past  []siteform.Draft // before each change, the latest last

	list []siteform.Question
	at   int

	field  field             // for what is typed
	menu   menu              // for what is chosen
	drafts map[string]string // what was typed or chosen and not kept, by paths

	onRow   bool
	action  int
	would   []string // what would not agree with what is typed or chosen
	typed   string   // how that is understood
	doubted bool     // it was said that something does not agree
	problem string
	notice  string
}

// newDescribe begins at the first question that has no good answer.
func newDescribe(start startScreen, d siteform.Draft, path string) describeScreen {
	s := describeScreen{start: start, path: path, draft: d, list: d.Questions()}
	for _, todo := range [][]siteform.Question{d.AllWrong(), d.Left()} {
		if len(todo) > 0 {
			s.at = s.index(todo[0].Path)
			break
		}
	}
	return s.show()
}

func (s describeScreen) index(path string) int {
	return max(0, slices.IndexFunc(s.list, func(q siteform.Question) bool { return q.Path == path }))
}

func (s describeScreen) question() siteform.Question { return s.list[s.at] }

// show puts the question on the screen with its present answer.
func (s describeScreen) show() describeScreen {
	q := s.question()
	s.onRow, s.action, s.problem, s.doubted = false, 0, "", false
	answer := s.draft.Answer(q)
	if typed, ok := s.drafts[q.Path]; ok {
		answer = typed
	}
	switch q.Form {
	case siteform.More:
		s.menu = newMenu(entries(doAdd, doNoMore)).startAt(string(s.usual(q)))
	case siteform.Words:
		s.menu = newMarks(labels(q), strings.Split(answer, ", "))
	case siteform.Choice:
		s.menu = newMenu(labels(q)).startAt(answer)
	case siteform.Text:
		s.menu, s.field = menu{}, newField(answer)
	default:
		s.menu, s.field = menu{}, newFigures(answer)
	}
	return s.understand()
}

// usual is what an Enter answers where more could be added: nothing at first,
// since a lamp or load is easily forgotten.
func (s describeScreen) usual(q siteform.Question) doing {
	_, some := s.draft.Count(q)
	switch {
	case some:
		return doNoMore
	case q.Needed:
		return doAdd
	}
	return ""
}

// labels are the choices with what they mean.
func labels(q siteform.Question) []item {
	out := make([]item, len(q.Choices))
	for i, c := range q.Choices {
		out[i] = item{ID: c, Text: q.Shown(c)}
		if q.Form == siteform.Words {
			out[i].Text = c + ": " + q.Explain[i]
		}
	}
	return out
}

func (s describeScreen) isTyped() bool { return len(s.menu.items) == 0 }

// answer is what Enter would give now, "" for nothing.
func (s describeScreen) answer() string {
	switch {
	case s.isTyped():
		return s.field.text()
	case s.menu.many:
		return strings.Join(s.menu.chosen(), ", ")
	case s.menu.at < 0:
		return ""
	default:
		return s.menu.item().ID
	}
}

// understand says how the answer would be taken and what it does not agree with.
func (s describeScreen) understand() describeScreen {
	s.would, s.typed = nil, ""
	q, answer := s.question(), ""
	if q.Form != siteform.More {
		answer = s.answer()
	}
	if answer == "" {
		return s
	}
	would, err := s.draft.Would(q, answer)
	if err != nil {
		s.typed = fmt.Sprintf(visitWords().NotYet, err)
		return s
	}
	s.would = would
	if s.isTyped() {
		s.typed = "= " + q.Understood(answer)
		if len(would) == 0 && q.Agrees != "" {
			s.typed = fmt.Sprintf(siteWords().Describe.Agrees, q.Understood(answer))
		}
	}
	return s
}

// keepDraft keeps what is typed or chosen, and not in the file, until the question is
// shown again.
func (s describeScreen) keepDraft() describeScreen {
	q := s.question()
	if q.Form == siteform.More || s.answer() == s.draft.Answer(q) {
		return s.dropDraft(q.Path)
	}
	drafts := map[string]string{}
	maps.Copy(drafts, s.drafts)
	drafts[q.Path] = s.answer()
	s.drafts = drafts
	return s
}

func (s describeScreen) dropDraft(path string) describeScreen {
	s.drafts = maps.Clone(s.drafts)
	delete(s.drafts, path)
	return s
}

func (s describeScreen) typing() typing {
	switch q := s.question(); {
	case s.onRow || !s.isTyped():
		return nothing
	case q.Form == siteform.Text || q.Form == siteform.Month:
		return words
	}
	return figures
}

func (s describeScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	k, ok := msg.(tea.KeyMsg)
	if !ok {
		return s, nil
	}
	actions := s.actions()
	if i := pressed(k, actions); i >= 0 && !k.Paste {
		return s.act(e, actions[i])
	}
	switch {
	case k.Paste:
		return s.edit(k), nil
	case key.Matches(k, keys.Back):
		return s.back(e)
	case s.onRow && key.Matches(k, keys.Up):
		s.onRow = false
	case s.onRow && key.Matches(k, keys.Enter):
		return s.act(e, actions[min(s.action, len(actions)-1)])
	case s.onRow:
		s.action = moveAlong(k, s.action, len(actions))
	case key.Matches(k, keys.Enter):
		return s.enter(e)
	default:
		return s.edit(k), nil
	}
	return s, nil
}

// edit changes what is typed or chosen; down beyond it lies the line of other
// things to do.
func (s describeScreen) edit(msg tea.KeyMsg) describeScreen {
	switch {
	case msg.Paste && (!s.isTyped() || s.onRow):
		return s
	case s.isTyped() && key.Matches(msg, keys.Down):
		s.onRow, s.action = true, 0
		return s
	case s.isTyped():
		was := s.field.text()
		s.field = s.field.update(msg)
		if s.field.text() == was {
			return s
		}
	default:
		m, used := s.menu.update(msg)
		if !used && key.Matches(msg, keys.Down) {
			s.onRow, s.action = true, 0
			return s
		}
		s.menu = m
	}
	s.problem, s.notice, s.doubted = "", "", false
	return s.understand()
}

// enter takes the answer and goes on. Where nothing is typed the typical value
// is assumed; where there is none, the question stays open.
func (s describeScreen) enter(e env) (screen, tea.Cmd) {
	q, answer := s.question(), ""
	s.notice = ""
	switch {
	case q.Form == siteform.More:
		return s.more(e)
	case s.menu.many && s.menu.at < len(s.menu.items):
		s.menu = s.menu.toggle()
		s.doubted = false
		return s.understand(), nil
	default:
		answer = s.answer()
	}
	_, typical := s.draft.Typical(q)
	switch {
	case s.draft.Given(q) && answer == s.draft.Answer(q):
		return s.next()
	case answer == "" && typical && !s.draft.Given(q):
		return s.assume(e)
	case answer == "" && s.draft.Given(q):
		return s.keep(e, func() (siteform.Draft, error) { return s.draft.Clear(q) })
	case answer == "":
		return s.next()
	}
	if len(s.would) > 0 && !s.doubted {
		s.doubted = true
		return s, nil
	}
	return s.keep(e, func() (siteform.Draft, error) { return s.draft.Put(q, answer) })
}

func (s describeScreen) more(e env) (screen, tea.Cmd) {
	q := s.question()
	switch s.menu.doing() {
	case doNoMore:
		return s.next()
	case doAdd:
		n, _ := s.draft.Count(q)
		next, err := s.draft.Add(q)
		if err != nil {
			s.problem = err.Error()
			return s, nil
		}
		return s.changed(e, next, q.Path+"."+strconv.Itoa(n))
	}
	s.problem = visitWords().NothingChosen
	return s, nil
}

func (s describeScreen) assume(e env) (screen, tea.Cmd) {
	q := s.question()
	return s.keep(e, func() (siteform.Draft, error) { return s.draft.Assume(q) })
}

// keep makes a change and goes on to the next question.
func (s describeScreen) keep(e env, change func() (siteform.Draft, error)) (screen, tea.Cmd) {
	next, err := change()
	if err != nil {
		s.problem = err.Error()
		return s, nil
	}
	return s.changed(e, next, "")
}

// changed keeps a draft in the file, and shows the first question of table, or
// with "" the one after the present one.
func (s describeScreen) changed(e env, next siteform.Draft, table string) (screen, tea.Cmd) {
	kept, ok := s.write(e, next)
	if !ok {
		return kept, nil
	}
	s = kept
	if table == "" {
		return s.next()
	}
	s.at = max(0, slices.IndexFunc(s.list, func(q siteform.Question) bool { return q.Group == table }))
	return s.show(), nil
}

// write puts a draft into the file.
func (s describeScreen) write(e env, next siteform.Draft) (_ describeScreen, ok bool) {
	if bytes.Equal(next.Bytes(), s.draft.Bytes()) {
		return s, true
	}
	if err := e.opt.KeepSite(s.path, next.Bytes()); err != nil {
		s.problem = fmt.Errorf(siteWords().FileUnwritten, s.path, err).Error()
		return s, false
	}
	q := s.question()
	s.past = append(slices.Clip(s.past), s.draft)
	before := len(s.list)
	s.draft, s.list = next, next.Questions()
	s = s.dropDraft(q.Path)
	if len(s.list) != before {
		s.drafts = nil // another lamp or load may have these paths now
	}
	if at := slices.IndexFunc(s.list, func(other siteform.Question) bool { return other.Path == q.Path }); at >= 0 {
		s.at = at
	}
	s.at = min(s.at, len(s.list)-1)
	return s, true
}

// next goes on to the question after this one, after the last to all answers.
func (s describeScreen) next() (screen, tea.Cmd) {
	s = s.dropDraft(s.question().Path)
	if s.at+1 < len(s.list) {
		s.at++
		return s.show(), nil
	}
	return newReview(s.show()), nil
}

// back leaves a doubt, the line of actions, or the question, in that order.
func (s describeScreen) back(e env) (screen, tea.Cmd) {
	switch {
	case s.doubted:
		s.doubted = false
		return s, nil
	case s.onRow:
		s.onRow = false
		return s, nil
	case s.at == 0:
		return s.done(e)
	}
	s = s.keepDraft()
	s.at--
	s.notice = ""
	return s.show(), nil
}

// done goes to the site just described, or to all sites while it cannot be used.
func (s describeScreen) done(e env) (screen, tea.Cmd) {
	start := s.start.again(e.opt)
	f := e.opt.OpenSite(s.path)
	if f.Problem != nil {
		start.said = fmt.Sprintf(siteWords().Describe.Incomplete, s.path)
		return start, start.lookAtLeft(e.opt)
	}
	return newSite(start, f, e.opt)
}
