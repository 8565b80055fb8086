package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"
)

// An action is something to do beside answering: reached with the arrows, or
// with its own key.
type action struct {
	key  key.Binding
	name string
}

// actionRow draws the actions on one line where they fit, with the names of
// their keys where those fit too, else on several.
func actionRow(st styles, actions []action, at int, focused bool, w int) []string {
	pieces := func(withKeys bool) []string {
		var out []string
		for i, a := range actions {
			text := a.name
			if withKeys {
				text = strings.ToUpper(a.key.Help().Key) + " " + text
			}
			if focused && i == at {
				out = append(out, st.chosen.Render(">"+text))
				continue
			}
			out = append(out, " "+text)
		}
		return out
	}
	named := pieces(true)
	if ansi.StringWidth(strings.Join(named, " ")) <= w {
		return flow(named, " ", w)
	}
	return flow(pieces(false), " ", w)
}

// moveAlong moves along n actions with the left and right arrows.
func moveAlong(msg tea.KeyMsg, at, n int) int {
	switch {
	case key.Matches(msg, keys.Left):
		return max(0, at-1)
	case key.Matches(msg, keys.Right):
		return min(n-1, at+1)
	}
	return at
}

// pressed is the index of the action whose own key was pressed, -1 for none.
func pressed(msg tea.KeyMsg, actions []action) int {
	for i, a := range actions {
		if key.Matches(msg, a.key) {
			return i
		}
	}
	return -1
}
