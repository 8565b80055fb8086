package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/visiting"
)

// reasonsScreen asks why a step cannot be done, or why the probing ends now.
type reasonsScreen struct {
	over
	kind visiting.AnswerKind
	menu menu
}

func newReasons(below visitScreen, kind visiting.AnswerKind) reasonsScreen {
	return reasonsScreen{over{below}, kind, newMenu(below.talk.Reasons(kind))}
}

func (s reasonsScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s reasonsScreen) onto(below screen) screen { s.below = below; return s }

func (s reasonsScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter):
		v, give := s.visit(), s.visit().talk.Cannot
		if s.kind == visiting.Stop {
			give = v.talk.Stop
		}
		return v.given(give(s.menu.item()))
	}
	s.menu, _ = s.menu.update(k)
	return s, nil
}

func (s reasonsScreen) view(e env) []string {
	title, text := visitWords().Reason.Cannot, s.visit().prompt.Step.Title
	if s.kind == visiting.Stop {
		title = visitWords().Reason.Stop
		text = visitWords().Reason.Stopping
	}
	lines := append(ruled(e, title, ""), wrap(text, e.w)...)
	lines = append(lines, "")
	return append(lines, s.menu.view(e.st, true, e.w, e.h-len(lines))...)
}

func (reasonsScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "choose"), keys.Back, keys.Arrows, keys.Help, as(keys.Quit, "leave")}
}
