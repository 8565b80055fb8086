package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/field/conversation"
)

// historyScreen lists the answers; Enter shows one again.
type historyScreen struct {
	over
	menu menu
}

func newHistory(below screen) historyScreen {
	o := over{below}
	n := len(o.visit().answers)
	m := menu{items: make([]item, n)}
	m.at = max(0, min(o.visit().talk.At(), n-1))
	return historyScreen{o, m}
}

func (s historyScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s historyScreen) onto(below screen) screen { s.below = below; return s }

func (s historyScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	switch {
	case key.Matches(k, keys.Enter) && len(s.menu.items) > 0:
		v := s.visit().keepDraft()
		return v.showAnswer(v.answers[s.menu.at].Step), nil
	}
	s.menu, _ = s.menu.update(k)
	return s, nil
}

func (s historyScreen) view(e env) []string {
	head := append(ruled(e, visitWords().AnswersSoFar, ""), "")
	if len(s.menu.items) == 0 {
		return append(head, wordsOf().NoneYet)
	}
	v := s.visit()
	lines := answerLines(v.answers, e.w-2)
	for i := range lines {
		if i == s.menu.at {
			lines[i] = e.st.title.Render("> " + lines[i])
			continue
		}
		lines[i] = "  " + lines[i]
	}
	notes := noteLines(e, v)
	room := max(5, e.h-len(head)-len(notes))
	return append(append(head, around(lines, s.menu.at, room)...), notes...)
}

// noteLines are the notes with the titles of their steps.
func noteLines(e env, v visitScreen) []string {
	var lines []string
	for _, n := range v.talk.Notes() {
		lines = append(lines, labelled(e.st.quiet, "  ", 2, n.Title+": "+n.Text, e.w)...)
	}
	if len(lines) == 0 {
		return nil
	}
	return append([]string{"", e.st.label.Render(visitWords().Notes)}, lines...)
}

func (historyScreen) help() []key.Binding {
	return []key.Binding{as(keys.Enter, "change-or-repeat"), keys.Back, keys.Arrows, keys.Help, as(keys.Quit, "leave")}
}

// answerLines is one line per answer, the titles set to one width.
func answerLines(answers []conversation.Heard, w int) []string {
	titleW := 0
	for _, g := range answers {
		titleW = max(titleW, ansi.StringWidth(g.Title))
	}
	titleW = min(titleW, w*3/5)
	lines := make([]string, len(answers))
	for i, g := range answers {
		lines[i] = cut(pad(cut(g.Title, titleW), titleW)+"  "+g.Text, w)
	}
	return lines
}
