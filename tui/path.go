package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// pathScreen asks for the path of a site file.
type pathScreen struct {
	below   startScreen
	field   field
	problem string
	working bool
}

// openedMsg brings a site file that was read.
type openedMsg struct{ file SiteFile }

func newPath(below startScreen) pathScreen { return pathScreen{below: below, field: newField("")} }

func (s pathScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	switch msg := msg.(type) {
	case openedMsg:
		s.working = false
		if msg.file.Problem != nil {
			return problemScreen{below: s, start: s.below, file: msg.file, page: newPage()}, nil
		}
		return newSite(s.below, msg.file, e.opt)
	case tea.KeyMsg:
		switch {
		case key.Matches(msg, keys.Back):
			return s.below, nil
		case s.working:
			return s, nil
		case !key.Matches(msg, keys.Enter):
			s.problem = ""
			s.field = s.field.update(msg)
			return s, nil
		case s.field.text() == "":
			s.problem = siteWords().Path.NothingTyped
			return s, nil
		}
		s.working = true
		path := s.field.text()
		return s, func() tea.Msg { return openedMsg{e.opt.OpenSite(path)} }
	}
	return s, nil
}

func (s pathScreen) view(e env) []string {
	w := siteWords().Path
	lines := append(ruled(e, w.Title, ""), "", w.Ask)
	lines = append(lines, s.field.view(e.st, true, e.w))
	lines = append(lines, e.st.quiet.Render(cut(w.Hint, e.w)))
	return append(lines, progress(e, s.working, s.problem)...)
}

func (pathScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "open"), keys.Back, as(keys.Leave, "leave")}
}

func (pathScreen) typing() typing { return words }
