package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/key"
	tea "github.com/charmbracelet/bubbletea"

	"ampwalk/scenarios"
)

// A desk is choosing what to do at the bench of a practice, menu within menu, or
// typing it; above it stands what was done and said.
type desk struct {
	choices []scenarios.Choice
	path    []drawer // the menus that lead to the present one
	menu    menu
	title   string // above the outermost menu
	typed   *field // nil while choosing
	said    []string
	up      int // lines scrolled up from the end of what was said
}

// A drawer is a menu that was left for one of its own.
type drawer struct {
	title   string
	choices []scenarios.Choice
	at      int
}

func newDesk(choices []scenarios.Choice, said ...string) desk {
	return desk{said: said, title: "What do you do?"}.offer(choices)
}

// ask lays out answers to choose from, none of them chosen yet: an Enter too
// many answers nothing.
func (d desk) ask(title string, choices []scenarios.Choice) desk {
	d.title, d.path, d.choices = title, nil, choices
	d.menu = newMenu(choiceLabels(choices))
	d.menu.at = unchosen
	return d
}

// offer lays out new choices. A menu within is kept where the new choices have
// it too, so that a second reading is as near as the first.
func (d desk) offer(choices []scenarios.Choice) desk {
	path, at := d.path, d.menu.at
	d.title = "What do you do?"
	d.choices, d.path = choices, nil
	d.menu = newMenu(choiceLabels(choices))
	for i, sh := range path {
		d.menu.at = sh.at
		next, ok := d.into()
		if !ok || next.path[len(next.path)-1].title != sh.title {
			return d
		}
		d = next
		if i == len(path)-1 {
			d.menu.at = min(at, len(d.menu.items)-1)
		}
	}
	if len(path) == 0 {
		d.menu.at = max(0, min(at, len(choices)-1))
	}
	return d
}

func choiceLabels(choices []scenarios.Choice) []string {
	list := make([]string, len(choices))
	for i, c := range choices {
		list[i] = c.Label
	}
	return list
}

// into opens the menu within the present line, false where it has none.
func (d desk) into() (desk, bool) {
	if d.menu.at < 0 || d.menu.at >= len(d.choices) {
		return d, false
	}
	c := d.choices[d.menu.at]
	if c.Do != "" {
		return d, false
	}
	d.path = append(d.path[:len(d.path):len(d.path)], drawer{c.Label, d.choices, d.menu.at})
	d.choices = c.Sub
	d.menu = newMenu(choiceLabels(c.Sub))
	return d, true
}

// back closes the present menu, or the typing; false where there is nothing to close.
func (d desk) back() (desk, bool) {
	switch n := len(d.path); {
	case d.typed != nil:
		d.typed = nil
	case n > 0:
		sh := d.path[n-1]
		d.path, d.choices = d.path[:n-1], sh.choices
		d.menu = newMenu(choiceLabels(sh.choices))
		d.menu.at = sh.at
	default:
		return d, false
	}
	return d, true
}

// typeKey begins typing what could be chosen.
var typeKey = bind("/", "type it instead", "/")

// marked is where the present choice would put the probes or the clamp.
func (d desk) marked() (red, black, clamp string) {
	if d.typed != nil || d.menu.at < 0 || d.menu.at >= len(d.choices) {
		return "", "", ""
	}
	c := d.choices[d.menu.at]
	half := c.Do == "" && len(c.Sub) > 0 // its own menu chooses the rest
	if half {
		c = c.Sub[0]
	}
	f := strings.Fields(c.Do)
	switch {
	case len(f) == 2 && f[0] == "probe" && !half:
		return f[1] + "+", f[1] + "-", ""
	case len(f) == 3 && f[0] == "probe" && half:
		return f[1], "", ""
	case len(f) == 3 && f[0] == "probe":
		return f[1], f[2], ""
	case len(f) > 1 && f[0] == "clamp":
		return "", "", strings.TrimSuffix(strings.TrimPrefix(f[1], "both-"), "s")
	}
	return "", "", ""
}

// key is the desk after a key, and what is to be done, "" if nothing.
func (d desk) key(k tea.KeyMsg, e env) (_ desk, do string) {
	if d.typed != nil {
		if !key.Matches(k, keys.Enter) {
			f := d.typed.update(k)
			d.typed = &f
			return d, ""
		}
		text := d.typed.text()
		d.typed = nil
		return d, text
	}
	switch {
	case k.Paste:
	case key.Matches(k, keys.PageUp):
		d.up = min(d.up+max(1, e.h/3), max(0, len(d.said)-1))
	case key.Matches(k, keys.PageDown):
		d.up = max(0, d.up-max(1, e.h/3))
	case key.Matches(k, typeKey):
		f := newField("")
		d.typed = &f
	case key.Matches(k, keys.Enter), len(k.Runes) == 1 && k.Runes[0] >= '1' && k.Runes[0] <= '9':
		if len(k.Runes) == 1 {
			var used bool
			if d.menu, used = d.menu.update(k); !used {
				return d, ""
			}
		}
		if next, ok := d.into(); ok {
			return next, ""
		}
		if d.menu.at >= 0 && d.menu.at < len(d.choices) {
			return d, d.choices[d.menu.at].Do
		}
	default:
		d.menu, _ = d.menu.update(k)
	}
	return d, ""
}

// hear adds what was done and what came of it.
func (d desk) hear(do string, lines []string, err error) desk {
	d.said = append(d.said[:len(d.said):len(d.said)], "> "+do)
	if err != nil {
		lines = []string{"Problem: " + err.Error() + "."}
	}
	d.said = append(d.said, lines...)
	d.up = 0
	return d
}

// log is the last h rows of what was said, at w columns.
func (d desk) log(e env, w, h int) []string {
	var lines []string
	for _, s := range d.said {
		indent := s[:len(s)-len(strings.TrimLeft(s, " "))]
		broken := wrap(s, w-len(indent))
		if len(broken) == 0 {
			lines = append(lines, "")
		}
		for _, l := range broken {
			switch {
			case strings.HasPrefix(s, "> "):
				l = e.st.title.Render(l)
			case strings.HasPrefix(s, "UNSAFE"), strings.HasPrefix(s, "Problem:"):
				l = e.st.problem.Render(l)
			}
			lines = append(lines, indent+l)
		}
	}
	to := max(min(h, len(lines)), len(lines)-d.up)
	return lines[max(0, to-h):to]
}

// view is the present menu, or the field, in h rows at most.
func (d desk) view(e env, focused bool, h int) []string {
	if d.typed != nil {
		return []string{e.st.label.Render("Type it"), d.typed.view(e.st, focused, e.w)}
	}
	title := d.title
	if n := len(d.path); n > 0 {
		title = d.path[n-1].title
	}
	return append([]string{e.st.label.Render(cut(title, e.w))}, d.menu.view(e.st, focused, e.w, max(1, h-1))...)
}

func (d desk) typing() typing {
	if d.typed != nil {
		return words
	}
	return nothing
}

func (d desk) help() []key.Binding {
	if d.typed != nil {
		return []key.Binding{as(keys.Enter, "do it"), as(keys.Back, "choose instead"), as(keys.Leave, "leave")}
	}
	return []key.Binding{as(keys.Enter, "choose"), keys.Back, typeKey, as(keys.PageUp, "read back"), keys.Help, as(keys.Quit, "leave")}
}
