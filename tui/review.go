package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
)

// reviewScreen lists all answers of a description; Enter goes to one.
type reviewScreen struct {
	was    describeScreen
	at     int
	onRow  bool
	action int
}

func newReview(was describeScreen) reviewScreen {
	was.notice = ""
	return reviewScreen{was: was, at: was.talk.At()}
}

// ending stands on what is done when all is answered.
func (s reviewScreen) ending() reviewScreen {
	s.onRow, s.action = len(s.was.talk.Left()) == 0, 0
	return s
}

func (s reviewScreen) list() []siteform.Question { return s.was.talk.Questions() }

func (s reviewScreen) actions() []action {
	if s.was.talk.Brief() || s.was.talk.Over() {
		return []action{{keys.Done, doFinish}, {keys.Details, doDetails}, {keys.Leave, doLeave}}
	}
	return []action{{keys.Done, doFinish}, {keys.Leave, doLeave}}
}

func (s reviewScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	k, ok := msg.(tea.KeyMsg)
	if !ok || k.Paste {
		return s, nil
	}
	actions := s.actions()
	if i := pressed(k, actions); i >= 0 {
		return s.act(e, actions[i])
	}
	last := len(s.list()) - 1
	switch {
	case key.Matches(k, keys.Back) && s.onRow, key.Matches(k, keys.Up) && s.onRow:
		s.onRow = false
	case key.Matches(k, keys.Back):
		if s.was.talk.Over() {
			_ = s.was.talk.Back() // there is a last question
		}
		return s.was.show(), nil
	case key.Matches(k, keys.Enter) && s.onRow:
		return s.act(e, actions[s.action])
	case key.Matches(k, keys.Enter):
		s.was.talk.Go(s.list()[s.at].Path)
		return s.was.show(), nil
	case s.onRow:
		s.action = moveAlong(k, s.action, len(actions))
	case key.Matches(k, keys.Down) && s.at == last:
		s.onRow = true
	case key.Matches(k, keys.Down):
		s.at++
	case key.Matches(k, keys.Up):
		s.at = max(0, s.at-1)
	case key.Matches(k, keys.PageDown):
		s.at = min(last, s.at+s.room(e))
	case key.Matches(k, keys.PageUp):
		s.at = max(0, s.at-s.room(e))
	case key.Matches(k, keys.Home):
		s.at = 0
	case key.Matches(k, keys.End):
		s.at = last
	}
	return s, nil
}

func (s reviewScreen) act(e env, a action) (screen, tea.Cmd) {
	s.onRow = false
	switch a.do {
	case doFinish:
		return s.was.done(e)
	case doDetails:
		return s.was.details(), nil
	default:
		return leave(e, s)
	}
}

// foot is what no question can correct.
func (s reviewScreen) foot(e env) []string {
	var lines []string
	for _, text := range s.was.talk.Draft().Elsewhere() {
		lines = append(lines, headed(e.st.problem, wordsOf().Check, text, e.w)...)
	}
	return lines[:min(len(lines), 4)]
}

func (s reviewScreen) room(e env) int {
	return max(1, e.h-3-len(s.foot(e))-len(actionRow(e.st, s.actions(), s.action, s.onRow, e.w)))
}

func (s reviewScreen) view(e env) []string {
	lines := append(ruled(e, fmt.Sprintf(siteWords().Describe.Title, s.was.talk.Draft().Name()), standing(s.was.talk)), "")
	lines = append(lines, fit(answersAround(e, s.was.talk, s.list(), s.at, e.w, s.room(e)), e.w, s.room(e))...)
	lines = append(lines, s.foot(e)...)
	return append(lines, actionRow(e.st, s.actions(), s.action, s.onRow, e.w)...)
}

func (s reviewScreen) help() []key.Binding {
	if s.onRow {
		return []key.Binding{as(keys.Enter, "do"), as(keys.Back, "to-answers"), keys.Arrows, keys.Help}
	}
	return []key.Binding{as(keys.Enter, "change"), keys.Back, keys.Arrows, as(keys.Done, "to-site"), keys.Help, as(keys.Quit, "leave")}
}

func (reviewScreen) typing() typing { return nothing }
