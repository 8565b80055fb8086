package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
)

// actions are what can be done beside answering this question.
func (s describeScreen) actions() []action {
	q := s.question()
	var list []action
	if _, ok := s.draft.Typical(q); ok {
		list = append(list, action{keys.Assume, doAssume})
	}
	if s.draft.Given(q) {
		list = append(list, action{keys.Open, doClear})
	}
	if s.draft.Assumed(q) {
		list = append(list, action{keys.Checked, doChecked})
	}
	list = append(list, action{keys.All, doAll})
	if q.Group != "" {
		list = append(list, action{keys.Remove, doRemove})
	}
	if len(s.past) > 0 {
		list = append(list, action{keys.Undo, doUndo})
	}
	return append(list, action{keys.Done, doFinish}, action{keys.Sun, doSun}, action{keys.Leave, doLeave})
}

func (s describeScreen) act(e env, a action) (screen, tea.Cmd) {
	s.onRow, s.notice = false, ""
	q := s.question()
	switch a.do {
	case doAssume:
		return s.assume(e)
	case doClear:
		return s.keep(e, func() (siteform.Draft, error) { return s.draft.Clear(q) })
	case doChecked:
		return s.keep(e, func() (siteform.Draft, error) { return s.draft.Put(q, s.draft.Answer(q)) })
	case doAll:
		return newReview(s.keepDraft()), nil
	case doRemove:
		return s.remove(e), nil
	case doUndo:
		return s.undo(e), nil
	case doFinish:
		return s.done(e)
	case doSun:
		return s, func() tea.Msg { return sunMsg{} }
	default:
		return leave(e, s)
	}
}

// remove takes out the lamp, look or load of the question.
func (s describeScreen) remove(e env) describeScreen {
	next, err := s.draft.Remove(s.question())
	if err != nil {
		s.problem = err.Error()
		return s
	}
	s, ok := s.write(e, next)
	if !ok {
		return s
	}
	s = s.show()
	s.notice = siteWords().Describe.Removed
	return s
}

// undo goes back to the draft before the last change.
func (s describeScreen) undo(e env) describeScreen {
	n := len(s.past) - 1
	before := s.past[n]
	s, ok := s.write(e, before)
	if !ok {
		return s
	}
	s.past = s.past[:n:n]
	s = s.show()
	s.notice = siteWords().Describe.Undone
	return s
}

func (s describeScreen) help() []key.Binding {
	enter := as(keys.Enter, "keep-continue")
	q := s.question()
	_, typical := s.draft.Typical(q)
	switch {
	case s.onRow:
		return []key.Binding{as(keys.Enter, "do"), as(keys.Back, "to-answer"), keys.Arrows, keys.Help}
	case s.doubted:
		return []key.Binding{as(keys.Enter, "keep-anyway"), as(keys.Back, "correct"), keys.Help}
	case s.menu.many && s.menu.at < len(s.menu.items):
		enter = as(keys.Enter, "mark")
	case s.isTyped() && s.field.text() == "" && typical && !s.draft.Given(q):
		enter = as(keys.Enter, "assume")
	case s.isTyped() && s.field.text() == "":
		enter = as(keys.Enter, "leave-open")
	}
	return []key.Binding{enter, keys.Back, as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
}
