package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
)

// noteScreen takes a note on a step.
type noteScreen struct {
	over
	field   field
	problem string
}

func newNote(below visitScreen) noteScreen {
	return noteScreen{over: over{below}, field: newField(below.drafts[noteDraft(below.prompt.Step.ID)])}
}

// noteDraft is the key of a half typed note on a step among the drafts.
func noteDraft(step string) string { return "note " + step }

func (s noteScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if k, ok := msg.(tea.KeyMsg); ok && key.Matches(k, keys.Back) {
		v := s.visit()
		return v.withDraft(noteDraft(v.prompt.Step.ID), s.field.text()), nil
	}
	return updateOver(s, e, msg)
}

func (s noteScreen) onto(below screen) screen { s.below = below; return s }

func (s noteScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case !key.Matches(k, keys.Enter):
		s.problem = ""
		s.field = s.field.update(k)
		return s, nil
	case s.field.text() == "":
		s.problem = visitWords().Note.NothingTyped
		return s, nil
	}
	return s.give()
}

// give keeps the note; what cannot be kept stays in the field.
func (s noteScreen) give() (screen, tea.Cmd) {
	v := s.visit()
	if err := v.talk.Note(s.field.text()); err != nil {
		s.problem = err.Error()
		return s, nil
	}
	v = v.withDraft(noteDraft(v.prompt.Step.ID), "")
	v.notice = visitWords().Note.Saved
	return v, nil
}

func (s noteScreen) view(e env) []string {
	v := s.visit()
	lines := append(ruled(e, visitWords().Note.Title, v.prompt.Step.Title), "")
	for _, n := range v.v.Notes() {
		if n.Step == v.prompt.Step.ID {
			lines = append(lines, labelled(e.st.label, visitWords().Label.Noted, labelW, n.Reason, e.w)...)
		}
	}
	if room := e.h - 4; len(lines) > room {
		lines = lines[:room]
	}
	lines = append(lines, s.field.view(e.st, true, e.w))
	lines = append(lines, e.st.quiet.Render(cut(visitWords().Note.Hint, e.w)))
	if s.problem != "" {
		lines = append(lines, problem(e.st, s.problem, e.w)...)
	}
	return lines
}

func (noteScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "save-note"), as(keys.Back, "note-waits"), as(keys.Leave, "leave")}
}

func (noteScreen) typing() typing { return words }
