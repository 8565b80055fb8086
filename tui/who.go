package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/visiting"
)

// whoScreen asks who is visiting.
type whoScreen struct {
	below   siteScreen
	file    SiteFile
	depth   visiting.Depth
	field   field
	problem string
	working bool
}

func newWho(below siteScreen, who string, f SiteFile, depth visiting.Depth) whoScreen {
	return whoScreen{below: below, file: f, depth: depth, field: newAnswer(who)}
}

func (s whoScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case visitMsg:
		s.working = false
		s.problem = msg.err.Error()
	case tea.KeyMsg:
		switch {
		case s.working:
			return s, nil
		case key.Matches(msg, keys.Back):
			s.below.start.who = s.field.text()
			return s.below, nil
		case !key.Matches(msg, keys.Enter):
			s.problem = ""
			s.field = s.field.update(msg)
			return s, nil
		}
		s.working = true
		file, who, depth := s.file, s.field.text(), s.depth
		return s, func() tea.Msg {
			v, err := e.opt.Begin(file, who, depth)
			return visitMsg{visit: v, err: err}
		}
	}
	return s, nil
}

func (s whoScreen) view(e env) []string {
	lines := append(ruled(e, s.file.Name, ""), "", wordsOf().Who.Ask)
	lines = append(lines, s.field.view(e.st, true, e.w))
	lines = append(lines, styled(e.st.quiet, wrap(wordsOf().Who.Hint, e.w))...)
	return append(lines, progress(e, s.working, s.problem)...)
}

func (whoScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "begin-visit"), keys.Back, as(keys.Leave, "leave")}
}

func (whoScreen) typing() typing { return words }
