package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
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
	return reviewScreen{was: was, at: was.at}
}

func (s reviewScreen) actions() []action {
	return []action{{keys.Done, doFinish}, {keys.Sun, doSun}, {keys.Leave, doLeave}}
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
	last := len(s.was.list) - 1
	switch {
	case key.Matches(k, keys.Back) && s.onRow, key.Matches(k, keys.Up) && s.onRow:
		s.onRow = false
	case key.Matches(k, keys.Back):
		return s.was, nil
	case key.Matches(k, keys.Enter) && s.onRow:
		return s.act(e, actions[s.action])
	case key.Matches(k, keys.Enter):
		s.was.at = s.at
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
	case doSun:
		return s, func() tea.Msg { return sunMsg{} }
	default:
		return leave(e, s)
	}
}

// foot is what no question can correct.
func (s reviewScreen) foot(e env) []string {
	var lines []string
	for _, text := range s.was.draft.Elsewhere() {
		lines = append(lines, headed(e.st.problem, wordsOf().Check, text, e.w)...)
	}
	return lines[:min(len(lines), 4)]
}

func (s reviewScreen) room(e env) int {
	return max(1, e.h-3-len(s.foot(e))-len(actionRow(e.st, s.actions(), s.action, s.onRow, e.w)))
}

func (s reviewScreen) view(e env) []string {
	d := s.was.draft
	lines := append(ruled(e, fmt.Sprintf(siteWords().Describe.Title, d.Name()), standing(d)), "")
	lines = append(lines, fit(answersAround(e, d, s.was.list, s.at, e.w, s.room(e)), e.w, s.room(e))...)
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
