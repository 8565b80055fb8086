package tui

import (
	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose"
	"ampwalk/scenarios"
)

// A benched visit is a guided practice: its readings are taken at a bench.
type benched interface {
	Measure(typed string) (lines []string, done bool)
	MeasureMenu() []scenarios.Choice
	Understand(p diagnose.Prompt, typed string) (diagnose.Answer, error)
	Caught(step string) // a reading that was talked about
}

var _ benched = (*scenarios.Guided)(nil)

var benchKey = bind("f11", "the bench: meters and eyes", "f11")

// benchScreen is the bench of a guided practice, over the question that asks for
// a reading.
type benchScreen struct {
	over
	bench benched
	menu  practiceMenu
}

func newBench(below visitScreen, b benched) benchScreen {
	return benchScreen{over{below}, b, newPracticeMenu(b.MeasureMenu())}
}

func (s benchScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) {
	if k, ok := msg.(tea.KeyMsg); ok && key.Matches(k, keys.Back) { // first out of the menu within
		if m, ok := s.menu.back(); ok {
			s.menu = m
			return s, nil
		}
	}
	return updateOver(s, e, msg)
}

func (s benchScreen) onto(below screen) screen { s.below = below; return s }

func (s benchScreen) key(e env, k tea.KeyMsg) (screen, tea.Cmd) {
	if key.Matches(k, benchKey) {
		return s.below, nil
	}
	var do string
	if s.menu, do = s.menu.key(k, e); do != "" {
		lines, done := s.bench.Measure(do)
		if !done {
			lines = []string{"Problem: that is not done here. Go back and answer the question."}
		}
		s.menu = s.menu.hear(do, lines, nil).offer(s.bench.MeasureMenu())
	}
	return s, nil
}

func (s benchScreen) view(e env) []string {
	v := s.visit()
	lines := ruled(e, "The bench", v.prompt.Step.Title)
	for _, l := range []struct{ label, text string }{{"Do", v.prompt.Step.Do}, {"Meter", v.prompt.Step.Meter}, {"Probes", v.prompt.Step.Probes}} {
		if l.text != "" {
			lines = append(lines, labelled(e.st.label, l.label, labelW, l.text, e.w)...)
		}
	}
	lines = append(lines, e.st.quiet.Render(rule(e.w)))
	foot := append([]string{e.st.quiet.Render(rule(e.w))}, s.menu.view(e, true, min(menuRows, max(4, e.h/2)))...)
	room := max(1, e.h-len(lines)-len(foot))
	log := s.menu.log(e, e.w, room)
	lines = append(lines, log...)
	lines = append(lines, blanks(room-len(log))...)
	return append(lines, foot...)
}

func (s benchScreen) help() []key.Binding {
	return append([]key.Binding{as(benchKey, "to the question")}, s.menu.help()...)
}

func (s benchScreen) typing() typing { return s.menu.typing() }
