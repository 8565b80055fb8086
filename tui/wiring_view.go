package tui

import (
	"fmt"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/tui/wiring"
)

// wiring is the drawing of the site with the points of the step.
func (s visitScreen) wiring() wiring.View { return wiring.Of(s.v, s.prompt.Step) }

// How many rows a drawing beside other things, and one by itself, may take.
const (
	lowest  = 8
	tallest = 20
)

func (s visitScreen) drawing(e env, w, h int) []string {
	return e.st.drawn(wiring.Draw(s.wiring(), w, h, e.signs != ASCII))
}

// wiringScreen is the drawing by itself, for windows where it does not stand
// beside the question.
type wiringScreen struct{ over }

func newWiring(below visitScreen) wiringScreen { return wiringScreen{over{below}} }

func (s wiringScreen) update(e env, msg tea.Msg) (screen, tea.Cmd) { return updateOver(s, e, msg) }

func (s wiringScreen) onto(below screen) screen { s.below = below; return s }

func (s wiringScreen) key(_ env, k tea.KeyMsg) (screen, tea.Cmd) {
	if key.Matches(k, keys.Enter, keys.Wiring) {
		return s.below, nil
	}
	return s, nil
}

func (s wiringScreen) view(e env) []string {
	v := s.visit()
	lines := ruled(e, v.prompt.Step.Title, fmt.Sprintf(visitWords().WiringOf, v.v.Head().SiteName))
	where := labelled(e.st.label, placeLabel(v.prompt), labelW, v.prompt.Step.Probes, e.w)
	room := e.h - len(lines) - len(where)
	lines = append(lines, v.drawing(e, e.w, room)...)
	return append(lines, where...)
}

func (wiringScreen) help() []key.Binding {
	return []key.Binding{as(keys.Back, "to-question"), keys.Help, as(keys.Quit, "leave")}
}
