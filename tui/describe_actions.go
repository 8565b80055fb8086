package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/siteform"
)

// actions are what can be done beside answering this question.
func (s describeScreen) actions() []action {
	q, d := s.question(), s.talk.Draft()
	var list []action
	if _, ok := s.talk.Usual(); ok {
		list = append(list, action{keys.Assume, doAssume})
	}
	if d.Given(q) {
		list = append(list, action{keys.Open, doClear})
	}
	if d.Assumed(q) {
		list = append(list, action{keys.Checked, doChecked})
	}
	list = append(list, action{keys.All, doAll})
	if q.Group != "" {
		list = append(list, action{keys.Remove, doRemove})
	}
	if s.talk.CanUndo() {
		list = append(list, action{keys.Undo, doUndo})
	}
	if s.talk.Brief() {
		list = append(list, action{keys.Details, doDetails})
	}
	return append(list, action{keys.Done, doFinish}, action{keys.Leave, doLeave})
}

func (s describeScreen) act(e env, a action) (screen, tea.Cmd) {
	s.onRow = false
	switch a.do {
	case doAssume:
		return s.after(s.talk.Assume()), nil
	case doClear:
		return s.after(s.talk.Clear()), nil
	case doChecked:
		return s.after(s.talk.Checked()), nil
	case doAll:
		return newReview(s.keepDraft()), nil
	case doRemove:
		return s.after(s.talk.Remove()), nil
	case doUndo:
		return s.after(s.talk.Undo()), nil
	case doDetails:
		s = s.keepDraft()
		return s.details(), nil
	case doFinish:
		return s.done(e)
	default:
		return leave(e, s)
	}
}

// details goes on with every question there is.
func (s describeScreen) details() describeScreen {
	if err := s.talk.Details(); err != nil {
		s.problem = err.Error()
		return s
	}
	s.notice = ""
	return s.show()
}

// empties are the words for what Enter does where nothing is typed or chosen.
var empties = map[siteform.Said]key.Binding{
	siteform.Assumed:  as(keys.Enter, "assume"),
	siteform.LeftOpen: as(keys.Enter, "leave-open"),
	siteform.None:     as(keys.Enter, "there-is-none"),
	siteform.NoMore:   as(keys.Enter, "no-more"),
}

func (s describeScreen) help() []key.Binding {
	enter := as(keys.Enter, "keep-continue")
	switch {
	case s.onRow:
		return []key.Binding{as(keys.Enter, "do"), as(keys.Back, "to-answer"), keys.Arrows, keys.Help}
	case s.problem != "":
		return []key.Binding{enter, as(keys.Back, "correct"), as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
	case s.talk.Doubt() != nil:
		return []key.Binding{as(keys.Enter, "keep-anyway"), as(keys.Back, "correct"), keys.Help}
	case s.menu.many:
		return []key.Binding{enter, keys.Digits, keys.Back, as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
	case s.answer() == "" && !s.talk.Draft().Given(s.question()):
		enter = empties[s.talk.Empty()]
	case s.isTyped() && s.field.text() == "":
		enter = as(keys.Enter, "leave-open")
	}
	return []key.Binding{enter, keys.Back, as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
}
