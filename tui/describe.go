package tui

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
)

// describeScreen asks what is installed at a site, one question a screen: a face of
// siteform.Talk, which knows what is asked and what comes of an answer.
type describeScreen struct {
	start startScreen
	path  string
	talk  *siteform.Talk

	field  field             // for what is typed
	menu   menu              // for what is chosen
	drafts map[string]string // what was typed or chosen and not kept, by paths

	onRow   bool
	action  int
	against []string // what would not agree with what is typed or chosen
	typed   string   // how that is understood
	problem string
	notice  string
}

// newDescribe begins at the first question that has no good answer.
func newDescribe(start startScreen, opt *Options, d siteform.Draft, path string) describeScreen {
	keep := func(text []byte) error {
		if err := opt.KeepSite(path, text); err != nil {
			return fmt.Errorf(siteWords().FileUnwritten, path, err)
		}
		return nil
	}
	return describeScreen{start: start, path: path, talk: siteform.NewTalk(d, keep)}.show()
}

func (s describeScreen) question() siteform.Question { return s.talk.Question() }

// show puts the question on the screen with its present answer.
func (s describeScreen) show() describeScreen {
	q, d := s.question(), s.talk.Draft()
	s.onRow, s.action, s.problem = false, 0, ""
	answer := d.Answer(q)
	if typed, ok := s.drafts[q.Path]; ok {
		answer = typed
	}
	switch q.Form {
	case siteform.More:
		s.menu = newMenu(entries(doAdd, doNoMore)).startAt("")
	case siteform.Words, siteform.Which:
		s.menu = newMarks(labels(q), strings.Split(answer, ", "))
	case siteform.Choice:
		s.menu = newMenu(labels(q)).startAt(answer)
	default:
		s.menu, s.field = menu{}, newAnswer(answer)
	}
	return s.understand()
}

// labels are the choices with what they mean.
func labels(q siteform.Question) []item {
	out := make([]item, len(q.Choices))
	for i, c := range q.Choices {
		out[i] = item{ID: c, Text: q.Shown(c)}
		if q.Form == siteform.Words || q.Form == siteform.Which {
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
	case s.menu.many && s.menu.at == len(s.menu.items) && len(s.menu.chosen()) == 0 && s.question().Optional:
		return "0"
	case s.menu.many:
		return strings.Join(s.menu.chosen(), ", ")
	case s.menu.doing() == doAdd:
		return "yes"
	case s.menu.doing() == doNoMore:
		return "no"
	default:
		return s.menu.item().ID
	}
}

// understand says how the answer would be taken and what it does not agree with.
func (s describeScreen) understand() describeScreen {
	q := s.question()
	understood, against, err := s.talk.Check(s.answer())
	s.against, s.typed = against, ""
	switch {
	case err != nil:
		s.typed = fmt.Sprintf(visitWords().NotYet, err)
	case understood == "" || !s.isTyped():
	case len(against) == 0 && q.Agrees != "":
		s.typed = fmt.Sprintf(siteWords().Describe.Agrees, understood)
	default:
		s.typed = "= " + understood
	}
	return s
}

// keepDraft keeps what is typed or chosen, and not in the file, until the question is
// shown again.
func (s describeScreen) keepDraft() describeScreen {
	q := s.question()
	if q.Form == siteform.More || s.answer() == s.talk.Draft().Answer(q) {
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
	case slices.Contains([]siteform.Form{siteform.Number, siteform.Count, siteform.List}, q.Form):
		return figures
	}
	return words
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
		return s.enter(), nil
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
	s.problem, s.notice = "", ""
	s.talk.Correct()
	return s.understand()
}

// enter gives the answer. Where nothing is typed or chosen the talk knows what that
// means: the line of keys says it.
func (s describeScreen) enter() screen {
	q := s.question()
	switch {
	case s.menu.many && !s.menu.decided(), q.Form == siteform.More && s.menu.at == unchosen && s.talk.Empty() == siteform.LeftOpen:
		s.problem = undecided(s.menu)
		return s
	case s.isTyped() && s.field.text() == "" && s.talk.Draft().Given(q):
		return s.after(s.talk.Clear())
	}
	return s.after(s.talk.Answer(s.answer()))
}

// after shows what came of something that the talk was asked to do.
func (s describeScreen) after(err error) screen {
	s.notice = ""
	switch {
	case errors.Is(err, siteform.ErrDoubt):
		return s
	case err != nil:
		s.problem = err.Error()
		return s
	}
	switch last := s.talk.Last(); last.Said {
	case siteform.Removed, siteform.Undone, siteform.Added:
		s.drafts = nil // another lamp or load may have these paths now
		s.notice = siteWords().Said[string(last.Said)]
	default:
		s = s.dropDraft(last.On.Path)
	}
	if s.talk.Over() {
		return newReview(s.show()).ending()
	}
	return s.show()
}

// back leaves a doubt or a problem, the line of actions, or the question, in that order.
func (s describeScreen) back(e env) (screen, tea.Cmd) {
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
		return s.done(e)
	}
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
