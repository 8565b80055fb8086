package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/office/desk"
)

// homeScreen shows, before a visit that was reviewed, what was said of it, and takes
// the answer to the question it was sent back with.
type homeScreen struct {
	over
	home    desk.Home
	field   field
	problem string
	page    page
}

func newHome(below screen, h desk.Home) homeScreen {
	return homeScreen{over: over{below}, home: h, field: newField(""), page: newPage()}
}

func (s homeScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s homeScreen) onto(below screen) screen { s.below = below; return s }

func (s homeScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter) && s.field.text() == "":
		return s.below, nil
	case key.Matches(k, keys.Enter):
		if err := s.visit().talk.Note(s.field.text()); err != nil {
			s.problem = err.Error()
			return s, nil
		}
		return s.below, nil
	case key.Matches(k, keys.Up, keys.Down, keys.PageUp, keys.PageDown):
		s.page = s.page.update(k, s.lines(e), e.w, s.room(e))
	case s.home.Asked:
		s.field, s.problem = s.field.update(k), ""
	}
	return s, nil
}

func (s homeScreen) lines(e env) (lines []string) {
	for _, said := range s.home.Whole {
		lines = append(lines, styled(e.st.title, wrap(said, e.w))...)
	}
	for _, said := range s.home.Notes {
		lines = append(lines, wrap("- "+said, e.w)...)
	}
	return lines
}

// room is what there is beside the title and the field.
func (s homeScreen) room(e env) int {
	const title, answer = 3, 4
	return max(1, e.h-title-answer)
}

func (s homeScreen) view(e env) []string {
	lines := append(ruled(e, visitWords().Home.Title, ""), s.page.view(e.st, s.lines(e), e.w, s.room(e))...)
	if !s.home.Asked {
		return lines
	}
	lines = append(lines, "", e.st.label.Render(cut(visitWords().Home.Answer, e.w)), s.field.view(e.st, true, e.w))
	if s.problem != "" {
		lines = append(lines, problem(e.st, s.problem, e.w)...)
	}
	return lines
}

func (s homeScreen) typing() typing {
	if s.home.Asked {
		return words
	}
	return nothing
}

func (homeScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "save-and-continue"), as(keys.Back, "without-answer"), as(keys.Leave, "leave")}
}
