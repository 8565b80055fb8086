package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// debriefScreen says how a practice went.
type debriefScreen struct {
	text func(columns int) []string
	page page
}

func newDebrief(text func(columns int) []string) debriefScreen { return debriefScreen{text, newPage()} }

func (s debriefScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	k, ok := msg.(tea.KeyMsg)
	switch {
	case !ok:
	case key.Matches(k, keys.Enter, keys.Back) && !k.Paste:
		return s, tea.Quit
	default:
		s.page = s.page.update(k, s.lines(e), e.w, e.h)
	}
	return s, nil
}

func (s debriefScreen) lines(e env) []string { return wrapAll(joined(s.text(e.w)), e.w) }

func (s debriefScreen) view(e env) []string { return s.page.view(e.st, s.lines(e), e.w, e.h) }

func (s debriefScreen) help() []key.Binding {
	return []key.Binding{as(keys.Arrows, "scroll"), as(keys.Enter, "end"), as(keys.Quit, "leave")}
}

func (debriefScreen) typing() typing { return nothing }
