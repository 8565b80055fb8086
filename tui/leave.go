package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
)

// leaveScreen says what would be left open and what to do about a danger that is not
// made safe, before the visit is left so.
type leaveScreen struct {
	over
	open   []procedure.Step // what puts it back
	danger procedure.Danger // the worst; without a title: none
	menu   menu
}

// leave ends the screens; every answer is kept already, and a note that is typed now
// is too. It asks first only where the plant would be left open or in danger. Who leaves
// a second time goes, and the visit says that nobody decided.
func leave(e env, from screen) (screen, tea.Cmd) {
	switch s := from.(type) {
	case leaveScreen:
		s.note(e, "") // whatever becomes of it: nobody is held here
		return s, tea.Quit
	case summaryScreen:
		return s, tea.Quit
	case noteScreen:
		if s.field.text() != "" {
			kept, _ := s.give(e)
			if _, failed := kept.(noteScreen); failed && s.problem == "" { // told once
				return kept, nil
			}
			from = kept
		}
	}
	d, ok := from.(duringVisit)
	if !ok {
		return from, tea.Quit
	}
	v := d.visit().v
	if v == nil {
		return from, tea.Quit
	}
	open := v.Procedure().Restore(v.State())
	danger, dangerous := v.Procedure().Unsafe(v.State())
	if len(open) == 0 && !dangerous {
		return from, tea.Quit
	}
	return leaveScreen{over{from}, open, danger, newMenu(entries(doGoOn, doPutBack, doLeaveSo))}, nil
}

func (s leaveScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s leaveScreen) onto(below screen) screen { s.below = below; return s }

func (s leaveScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter):
		switch v, do := s.visit(), s.menu.doing(); {
		case do == doLeaveSo:
			return s.leaveSo(e)
		case do == doPutBack && !v.working():
			return newReasons(v, visiting.Stop), nil
		default:
			return s.below, nil
		}
	}
	s.menu, _ = s.menu.update(k)
	return s, nil
}

// leaveSo keeps the decision to leave something open, and ends the screens.
func (s leaveScreen) leaveSo(e env) (screen, tea.Cmd) {
	if err := s.note(e, "labelled, the person in charge knows"); err != nil {
		v := s.visit()
		v.problem = err.Error()
		return v, nil
	}
	return s, tea.Quit
}

// note keeps that the visit is left with something open, and what was decided
// about it, "" for nothing.
func (s leaveScreen) note(e env, decision string) error {
	v := s.visit()
	left := v.v.Procedure().OpenText(v.v.State())
	if left == "" { // the papers tell of the danger by themselves
		return nil
	}
	text := visiting.LeftWith(left, decision)
	return v.v.Give(visiting.Answer{Step: v.prompt.Step.ID, Kind: visiting.Note, Reason: text, At: e.opt.Now()})
}

func (s leaveScreen) view(e env) []string {
	if s.danger.Title != "" {
		return s.card(e)
	}
	lines := append(ruled(e, "Not everything is put back", ""), "")
	lines = append(lines, "Still to do:")
	for _, step := range s.open {
		lines = append(lines, labelled(e.st.caution, "  -", 4, step.Title, e.w)...)
	}
	lines = append(append(lines, ""), wrap("If you leave it so, put a label on it and tell who looks after it.", e.w)...)
	lines = append(lines, "")
	return append(lines, s.menu.view(e.st, true, e.w, max(1, e.h-len(lines)))...)
}

// card is what to do about the danger; what is only open gives way to it.
func (s leaveScreen) card(e env) []string {
	lines := ruled(e, s.danger.Title, "")
	for i, text := range s.danger.Card {
		lines = append(lines, labelled(e.st.caution, fmt.Sprintf("%d.", i+1), 3, text, e.w)...)
	}
	menu := s.menu.view(e.st, true, e.w, len(s.menu.items))
	for _, step := range s.open {
		if more := labelled(e.st.label, "Still to do:", 13, step.Title, e.w); len(lines)+len(more)+len(menu) <= e.h {
			lines = append(lines, more...)
		}
	}
	if len(lines)+len(menu) < e.h {
		lines = append(lines, "")
	}
	return append(lines, menu...)
}

func (leaveScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "this one"), as(keys.Back, "back to the visit"), keys.Arrows, as(keys.Leave, "leave, undecided")}
}
