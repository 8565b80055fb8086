package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose"
	"ampwalk/diagnose/procedure"
)

// leaveScreen says what would be left open, before the visit is left so.
type leaveScreen struct {
	over
	open []procedure.Step // what puts it back
	menu menu
}

// leave ends the screens; every answer is kept already. It asks first only
// where the plant would be left open.
func leave(from screen) (screen, tea.Cmd) {
	d, ok := from.(duringVisit)
	_, asked := from.(leaveScreen)
	_, done := from.(summaryScreen)
	if !ok || asked || done {
		return from, tea.Quit
	}
	v := d.visit().v
	if v == nil {
		return from, tea.Quit
	}
	open := v.Procedure().Restore(v.State())
	if len(open) == 0 {
		return from, tea.Quit
	}
	return leaveScreen{over{from}, open, newMenu([]string{"Go on with the visit", "Stop here and put it back", "Leave it so: labelled, the person in charge knows"})}, nil
}

func (s leaveScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s leaveScreen) onto(below screen) screen { s.below = below; return s }

func (s leaveScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter):
		switch v := s.visit(); {
		case s.menu.at == 2:
			return s.leaveSo(e)
		case s.menu.at == 1 && !v.working():
			return newReasons(v, diagnose.Stop), nil
		default:
			return s.below, nil
		}
	}
	s.menu, _ = s.menu.update(k)
	return s, nil
}

// leaveSo keeps the decision to leave something open, and ends the screens.
func (s leaveScreen) leaveSo(e env) (screen, tea.Cmd) {
	v := s.visit()
	text := "left with: " + v.v.Procedure().OpenText(v.v.State()) + ". Decision: labelled, the person in charge knows"
	if err := v.v.Give(diagnose.Answer{Step: v.prompt.Step.ID, Kind: diagnose.Note, Reason: text, At: e.opt.Now()}); err != nil {
		v.problem = err.Error()
		return v, nil
	}
	return s, tea.Quit
}

func (s leaveScreen) view(e env) []string {
	lines := append(ruled(e, "Not everything is put back", ""), "")
	lines = append(lines, "Still to do:")
	for _, step := range s.open {
		lines = append(lines, labelled(e.st.caution, "  -", 4, step.Title, e.w)...)
	}
	lines = append(append(lines, ""), wrap("If you leave it so, put a label on it and tell who looks after it.", e.w)...)
	lines = append(lines, "")
	return append(lines, s.menu.view(e.st, true, e.w, max(1, e.h-len(lines)))...)
}

func (leaveScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "this one"), as(keys.Back, "back to the visit"), keys.Arrows, as(keys.Leave, "leave it open")}
}
