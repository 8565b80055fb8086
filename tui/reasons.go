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
	title, text := "Why can it not be done?", s.visit().prompt.Step.Title
	if s.kind == visiting.Stop {
		title = "Why stop here?"
		text = "No more readings are asked for. What was opened is put back first, as far as that is safe; then the summary follows."
	}
	lines := append(ruled(e, title, ""), wrap(text, e.w)...)
	lines = append(lines, "")
	return append(lines, s.menu.view(e.st, true, e.w, e.h-len(lines))...)
}

func (reasonsScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "this one"), keys.Back, keys.Arrows, keys.Help, as(keys.Quit, "leave")}
}
