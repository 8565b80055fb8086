package tui

import (
	"fmt"
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/scenarios"
	"ampwalk/tui/wiring"
)

// A practiceMenu is choosing what to do at the bench of a practice, menu within
// menu, or typing it; above it stands what was done and said.
type practiceMenu struct {
	choices []scenarios.Choice
	path    []outerMenu // the menus that lead to the present one
	list    menu        // the choices as they are shown
	title   string      // above the outermost menu
	typed   *field      // nil while choosing
	said    []saidLine
	up      int // lines scrolled up from the end of what was said
}

// A saidLine is a line of what was done and said, and what it is.
type saidLine struct {
	text string
	kind saidKind
}

type saidKind int

const (
	told  saidKind = iota
	done           // by the person
	wrong          // unsafe, or not understood
)

// An outerMenu is a menu that was left for one of its own.
type outerMenu struct {
	title   string
	id      string
	choices []scenarios.Choice
	at      int
}

func newPracticeMenu(choices []scenarios.Choice, said ...string) practiceMenu {
	m := practiceMenu{title: wordsOf().Practice.Ask}
	for _, s := range said {
		m.said = append(m.said, saidLine{text: s})
	}
	return m.offer(choices)
}

// ask lays out answers to choose from, none of them chosen yet: an Enter too
// many answers nothing.
func (m practiceMenu) ask(title string, choices []scenarios.Choice) practiceMenu {
	m.title, m.path, m.choices = title, nil, choices
	m.list = newMenu(lines(choiceLabels(choices)))
	m.list.at = unchosen
	return m
}

// offer lays out new choices. A menu within is kept where the new choices have
// it too, so that a second reading is as near as the first.
func (m practiceMenu) offer(choices []scenarios.Choice) practiceMenu {
	path, at := m.path, m.list.at
	m.title = wordsOf().Practice.Ask
	m.choices, m.path = choices, nil
	m.list = newMenu(lines(choiceLabels(choices)))
	for i, o := range path {
		m.list.at = o.at
		next, ok := m.into()
		if !ok || next.path[len(next.path)-1].id != o.id {
			return m
		}
		m = next
		if i == len(path)-1 {
			m.list.at = min(at, len(m.list.items)-1)
		}
	}
	if len(path) == 0 {
		m.list.at = max(0, min(at, len(choices)-1))
	}
	return m
}

func choiceLabels(choices []scenarios.Choice) []string {
	list := make([]string, len(choices))
	for i, c := range choices {
		list[i] = c.Label
	}
	return list
}

// into opens the menu within the present line, false where it has none.
func (m practiceMenu) into() (practiceMenu, bool) {
	if m.list.at < 0 || m.list.at >= len(m.choices) {
		return m, false
	}
	c := m.choices[m.list.at]
	if c.Do != "" {
		return m, false
	}
	m.path = append(m.path[:len(m.path):len(m.path)], outerMenu{c.Label, c.ID, m.choices, m.list.at})
	m.choices = c.Sub
	m.list = newMenu(lines(choiceLabels(c.Sub)))
	return m, true
}

// back closes the present menu, or the typing; false where there is nothing to close.
func (m practiceMenu) back() (practiceMenu, bool) {
	switch n := len(m.path); {
	case m.typed != nil:
		m.typed = nil
	case n > 0:
		o := m.path[n-1]
		m.path, m.choices = m.path[:n-1], o.choices
		m.list = newMenu(lines(choiceLabels(o.choices)))
		m.list.at = o.at
	default:
		return m, false
	}
	return m, true
}

// typeKey begins typing what could be chosen.
var typeKey = bind("/", "type-instead", "/")

// mark shows in v where the present choice would put the probes or the clamp.
func (m practiceMenu) mark(v wiring.View) wiring.View {
	if m.typed != nil || m.list.at < 0 || m.list.at >= len(m.choices) {
		return v
	}
	c := m.choices[m.list.at]
	half := c.Do == "" && len(c.Sub) > 0 // its own menu chooses the rest
	if half {
		c = c.Sub[0]
	}
	f := strings.Fields(c.Do)
	switch {
	case len(f) == 2 && f[0] == "probe" && !half:
		v.Red, v.Black = f[1]+"+", f[1]+"-"
	case len(f) == 3 && f[0] == "probe" && half:
		v.Red = f[1]
	case len(f) == 3 && f[0] == "probe":
		v.Red, v.Black = f[1], f[2]
	case len(f) > 1 && f[0] == "clamp":
		wire, both := strings.CutPrefix(f[1], "both-")
		v.Clamp, v.Both = wire, both
		if both {
			v.Clamp = strings.TrimSuffix(wire, "s")
		}
		switch {
		case both || half:
		case len(f) > 2:
			v.Arrow = wiring.Against
		default:
			v.Arrow = wiring.Along
		}
	}
	return v
}

// key is the menu after a key, and what is to be done, "" if nothing.
func (m practiceMenu) key(k tea.KeyMsg, e env) (_ practiceMenu, do string) {
	if m.typed != nil {
		if !key.Matches(k, keys.Enter) {
			f := m.typed.update(k)
			m.typed = &f
			return m, ""
		}
		text := m.typed.text()
		m.typed = nil
		return m, text
	}
	switch {
	case k.Paste:
	case key.Matches(k, keys.PageUp):
		m.up = min(m.up+max(1, e.h/3), max(0, len(m.said)-1))
	case key.Matches(k, keys.PageDown):
		m.up = max(0, m.up-max(1, e.h/3))
	case key.Matches(k, typeKey):
		f := newField("")
		m.typed = &f
	case key.Matches(k, keys.Enter):
		if next, ok := m.into(); ok {
			return next, ""
		}
		if m.list.at >= 0 && m.list.at < len(m.choices) {
			return m, m.choices[m.list.at].Do
		}
	default:
		m.list, _ = m.list.update(k)
	}
	return m, ""
}

// hear adds what was done and what came of it.
func (m practiceMenu) hear(do string, lines []string, err error) practiceMenu {
	m.said = append(m.said[:len(m.said):len(m.said)], saidLine{"> " + do, done})
	if err != nil {
		m.said, lines = append(m.said, saidLine{fmt.Sprintf(wordsOf().ProblemLine, err), wrong}), nil
	}
	for _, l := range lines {
		kind := told
		if scenarios.Unsafe(l) {
			kind = wrong
		}
		m.said = append(m.said, saidLine{l, kind})
	}
	m.up = 0
	return m
}

// log is the last h rows of what was said, at w columns.
func (m practiceMenu) log(e env, w, h int) []string {
	var lines []string
	for _, said := range m.said {
		s := said.text
		indent := s[:len(s)-len(strings.TrimLeft(s, " "))]
		broken := wrap(s, w-len(indent))
		if len(broken) == 0 {
			lines = append(lines, "")
		}
		for _, l := range broken {
			switch said.kind {
			case done:
				l = e.st.title.Render(l)
			case wrong:
				l = e.st.problem.Render(l)
			}
			lines = append(lines, indent+l)
		}
	}
	to := max(min(h, len(lines)), len(lines)-m.up)
	return lines[max(0, to-h):to]
}

// view is the present menu, or the field, in h rows at most.
func (m practiceMenu) view(e env, focused bool, h int) []string {
	if m.typed != nil {
		return []string{e.st.label.Render(wordsOf().Practice.Type), m.typed.view(e.st, focused, e.w)}
	}
	title := m.title
	if n := len(m.path); n > 0 {
		title = m.path[n-1].title
	}
	return append([]string{e.st.label.Render(cut(title, e.w))}, m.list.view(e.st, focused, e.w, max(1, h-1))...)
}

func (m practiceMenu) typing() typing {
	if m.typed != nil {
		return words
	}
	return nothing
}

func (m practiceMenu) help() []key.Binding {
	if m.typed != nil {
		return []key.Binding{as(keys.Enter, "do"), as(keys.Back, "choose-instead"), as(keys.Leave, "leave")}
	}
	return []key.Binding{as(keys.Enter, "choose"), keys.Back, typeKey, as(keys.PageUp, "read-back"), keys.Help, as(keys.Quit, "leave")}
}
