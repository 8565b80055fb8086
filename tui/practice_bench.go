package tui

import (
	"slices"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/diagnose/field/conversation"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/scenarios"
	"ampwalk/tui/wiring"
)

// A benched visit is a guided practice: its readings are taken at a bench.
type benched interface {
	conversation.Bench
	MeasureMenu() []scenarios.Choice
	Meters() (multimeter, clamp string)
	Debrief(columns int) []string // nil before the end
}

var _ benched = (*scenarios.Guided)(nil)

var benchKey = bind("f11", "bench", "f11")

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
			lines = []string{visitWords().Bench.NotHere}
		}
		s.menu = s.menu.hear(do, lines, nil).offer(s.bench.MeasureMenu())
	}
	return s, nil
}

func (s benchScreen) view(e env) []string {
	foot := append([]string{e.st.quiet.Render(rule(e.w))}, s.menu.view(e, true, min(s.rows(), max(4, e.h/2)))...)
	head := s.head(e, s.asked(e))
	room := e.h - len(head) - len(foot)
	if s.marked().Marked() && room < wideRows+benchSaid { // where the probes go is asked for on the question too
		head = s.head(e, nil)
		room = e.h - len(head) - len(foot)
	}
	drawing := e.st.drawn(wiring.Draw(s.marked(), e.w, min(lowest, room-benchSaid), e.signs != ASCII))
	room = max(1, room-len(drawing))
	log := s.menu.log(e, e.w, room)
	return slices.Concat(head, drawing, log, blanks(room-len(log)), foot)
}

// benchSaid are the rows that what the bench says keeps beside a drawing.
const benchSaid = 3

// head is the title, what the question asks for, and how the meter is set.
func (s benchScreen) head(e env, asked []string) []string {
	meter, clamp := s.bench.Meters()
	if v := s.marked(); v.Clamp != "" || s.visit().prompt.Step.Clamp != "" && v.Red == "" {
		meter = clamp
	}
	lines := append(ruled(e, visitWords().Bench.Title, s.visit().prompt.Step.Title), asked...)
	return append(lines, labelled(e.st.label, visitWords().Label.Now, labelW, meter, e.w)...)
}

// asked is what the question asks for.
func (s benchScreen) asked(e env) []string {
	w, step := visitWords().Label, s.visit().prompt.Step
	var lines []string
	for _, l := range []struct{ label, text string }{{w.Do, step.Do}, {w.Meter, step.Meter}, {placeLabel(s.visit().prompt), step.Probes}} {
		lines = append(lines, labelled(e.st.label, l.label, labelW, l.text, e.w)...)
	}
	return lines
}

// marked is the wiring with what the present choice would touch.
func (s benchScreen) marked() wiring.View {
	return s.menu.mark(wiring.Of(s.visit().v, procedure.Step{}))
}

func (s benchScreen) rows() int {
	if s.marked().Marked() {
		return markRows
	}
	return menuRows
}

func (s benchScreen) help() []key.Binding {
	return append([]key.Binding{as(benchKey, "to-question")}, s.menu.help()...)
}

func (s benchScreen) typing() typing { return s.menu.typing() }
