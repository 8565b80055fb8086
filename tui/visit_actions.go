package tui

import (
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/visiting"
)

// actions are what can be done now beside answering.
func (s visitScreen) actions() []action {
	list := []action{
		{keys.Cannot, doCannot},
		{keys.Note, doNote},
		{keys.Repeat, doRepeat},
		{keys.Why, doWhy},
		{keys.Answers, doAnswers},
		{keys.Wiring, doWiring},
		{keys.More, doMore},
		{keys.Stop, doStop},
		{keys.Leave, doLeave},
	}
	if s.benched() {
		list = slices.Insert(list, 0, action{benchKey, doBench})
	}
	if s.working() { // there is no step to say anything about
		list = slices.DeleteFunc(list, func(a action) bool {
			return slices.Contains([]doing{doBench, doCannot, doNote, doWiring, doMore, doStop}, a.do)
		})
	}
	return list
}

func (s visitScreen) act(e env, a action) (screen, tea.Cmd) {
	s.onRow = false
	switch a.do {
	case doBench:
		return newBench(s, s.v.(benched)), nil
	case doCannot:
		return newReasons(s, visiting.Cannot), nil
	case doStop:
		return newReasons(s, visiting.Stop), nil
	case doNote:
		return newNote(s), nil
	case doWhy:
		return newWhy(s), nil
	case doAnswers:
		return newHistory(s), nil
	case doMore:
		return newDetails(s), nil
	case doRepeat:
		return s.takeAgain(), nil
	case doWiring:
		return newWiring(s), nil
	default:
		return leave(e, s)
	}
}

// takeAgain asks for a reading once more; what it was stays beside it.
func (s visitScreen) takeAgain() visitScreen {
	s = s.keepDraft()
	if err := s.talk.Again(); err != nil {
		s.problem = err.Error() + "."
		return s
	}
	s.notice = ""
	s = s.show()
	s.field, s.menu, s.check = newField(""), s.menu.startAt(""), checked{}
	return s
}

func (s visitScreen) help() []key.Binding {
	answer := as(keys.Enter, "answer")
	switch {
	case s.working():
		return []key.Binding{as(keys.Back, "previous-answer"), as(keys.Leave, "leave"), keys.Help}
	case s.onRow:
		return []key.Binding{as(keys.Enter, "do"), as(keys.Back, "to-answer"), keys.Arrows, keys.Help}
	case s.problem != "" && s.talk.Doubt() == nil:
		return []key.Binding{answer, as(keys.Back, "correct"), as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
	case s.talk.Doubt() != nil:
		return []key.Binding{as(keys.Enter, "keep-suspect"), as(keys.Back, "correct"), as(keys.Leave, "leave")}
	}
	if !s.open() {
		answer = as(keys.Enter, "keep-or-change")
	}
	if s.menu.many {
		return []key.Binding{answer, keys.Digits, as(keys.Back, "back"), as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
	}
	return []key.Binding{answer, keys.Back, as(keys.Down, "more"), keys.Help, as(keys.Leave, "leave")}
}
