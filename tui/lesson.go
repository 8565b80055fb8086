package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
)

// RunLesson shows the explanation of a lesson; goOn tells whether the person wants to begin
// the case that follows, if one does. Of opt only looks and streams count.
func RunLesson(opt Options, title string, lines []string, follows bool) (goOn bool, err error) {
	m, err := run(opt.forPractice(), func(opt Options, r *lipgloss.Renderer) model {
		m := newModel(opt, r)
		m.screen = lessonScreen{title: title, text: lines, follows: follows, page: newPage()}
		return m
	})
	s, ok := m.screen.(lessonScreen)
	return ok && s.goOn, err
}

// lessonScreen is the explanation of a lesson.
type lessonScreen struct {
	title   string
	text    []string
	follows bool // a case
	page    page
	goOn    bool
}

func (s lessonScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	k, ok := msg.(tea.KeyMsg)
	switch {
	case !ok:
	case key.Matches(k, keys.Enter) && !k.Paste:
		s.goOn = true
		return s, tea.Quit
	case key.Matches(k, keys.Back):
		return s, tea.Quit
	default:
		s.page = s.page.update(k, s.lines(e), e.w, e.h-detailsHead)
	}
	return s, nil
}

func (s lessonScreen) lines(e env) []string { return wrapAll(joined(s.text), e.w) }

func (s lessonScreen) view(e env) []string {
	head := append(ruled(e, s.title, ""), "")
	return append(head, s.page.view(e.st, s.lines(e), e.w, e.h-detailsHead)...)
}

func (s lessonScreen) help() []key.Binding {
	if !s.follows {
		return []key.Binding{as(keys.Arrows, "scroll"), as(keys.Enter, "end"), as(keys.Quit, "leave")}
	}
	return []key.Binding{as(keys.Enter, "begin-case"), as(keys.Arrows, "scroll"), as(keys.Quit, "leave")}
}

func (lessonScreen) typing() typing { return nothing }
