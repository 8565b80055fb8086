package tui

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	tea "github.com/charmbracelet/bubbletea"

	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/lipgloss"

	"ampwalk/diagnose/field/procedure"
)

// unchosen is where a menu stands that must not be answered by an Enter too many.
const unchosen = -1

// An item of a menu is gone by its id, where it is not gone by its place; the text is for
// people.
type item = procedure.Choice

// entries are items that do something.
func entries(list ...doing) []item {
	var out []item
	for _, d := range list {
		out = append(out, item{ID: string(d), Text: d.name()})
	}
	return out
}

// lines are items that are gone by their places.
func lines(texts []string) []item {
	var out []item
	for _, t := range texts {
		out = append(out, item{Text: t})
	}
	return out
}

// A menu is a numbered list to choose from, one line or, with many set, any
// number of lines.
type menu struct {
	items  []item
	at     int // unchosen, an item, or with many the line below them
	many   bool
	marked []bool // with many
	digit  int    // typed last, the first of two perhaps; 0 for none
}

func newMenu(items []item) menu { return menu{items: items} }

// newMarks is a menu of any number of choices with those of the ids in on marked.
func newMarks(items []item, on []string) menu {
	m := menu{items: items, many: true, marked: make([]bool, len(items))}
	for i, it := range items {
		m.marked[i] = slices.Contains(on, it.ID)
	}
	return m
}

// startAt puts the choice on the item of that id, unchosen if it is not there.
func (m menu) startAt(id string) menu {
	m.at = slices.IndexFunc(m.items, func(it item) bool { return it.ID == id })
	return m
}

// item is the present one, the zero item for none.
func (m menu) item() item {
	if m.at < 0 || m.at >= len(m.items) {
		return item{}
	}
	return m.items[m.at]
}

// doing is what the present item does.
func (m menu) doing() doing { return doing(m.item().ID) }

// chosen lists the ids of what is marked.
func (m menu) chosen() []string {
	var out []string
	for i, it := range m.items {
		if m.marked[i] {
			out = append(out, it.ID)
		}
	}
	return out
}

// numbers are the numbers of what is marked, as they stand before the items.
func (m menu) numbers() []string {
	var out []string
	for i, on := range m.marked {
		if on {
			out = append(out, strconv.Itoa(i+1))
		}
	}
	return out
}

// rows counts the items and, with many, the line that ends the choosing.
func (m menu) rows() int {
	if m.many {
		return len(m.items) + 1
	}
	return len(m.items)
}

// number is that of the present item, as it stands before it.
func (m menu) number() string { return strconv.Itoa(m.at + 1) }

// decided reports whether there is an answer: something chosen or marked, or with many
// the line that says that these are all.
func (m menu) decided() bool {
	if m.many {
		return len(m.chosen()) > 0 || m.at == len(m.items)
	}
	return m.at != unchosen
}

// update moves and marks. It reports keys that the menu has no use for: down
// past the end and up past the top among them.
func (m menu) update(msg tea.KeyMsg) (_ menu, used bool) {
	first := m.digit
	m.digit = 0
	switch {
	case key.Matches(msg, keys.Up):
		if m.at <= 0 {
			return m, false
		}
		m.at--
	case key.Matches(msg, keys.Down):
		if m.at >= m.rows()-1 {
			return m, false
		}
		m.at++
	case key.Matches(msg, keys.Toggle):
		return m.toggle(), true
	default:
		m.digit = first
		return m.numbered(msg.Runes)
	}
	return m, true
}

// numbered goes to the item of a number, of one digit or of two; with many it marks the
// item, or for 0 none, and goes to the line that ends the choosing. A comma ends a number.
// A terminal may bring several digits in one message when they are typed fast.
func (m menu) numbered(digits []rune) (_ menu, used bool) {
	for _, d := range digits {
		first, n := m.digit, int(d-'0')
		m.digit = 0
		switch both := 10*first + n; {
		case d == ',' && m.many:
			used = true
		case n < 0 || n > 9:
			return m, used
		case first > 0 && both <= len(m.items):
			if m.many {
				m.at = first - 1
				m = m.toggle() // it was the beginning of this number
			}
			m, used = m.take(both), true
		case n == 0 && m.many:
			m.marked, m.at, used = make([]bool, len(m.items)), len(m.items), true
		case n >= 1 && n <= len(m.items):
			m, used = m.take(n), true
			m.digit = n
		default:
			return m, used
		}
	}
	return m, used
}

// take goes to the item of that number, or with many marks it.
func (m menu) take(n int) menu {
	m.at = n - 1
	if m.many {
		m = m.toggle()
		m.at = len(m.items)
	}
	return m
}

func (m menu) toggle() menu {
	if m.many && m.at >= 0 && m.at < len(m.items) {
		m.marked = slices.Clone(m.marked)
		m.marked[m.at] = !m.marked[m.at]
	}
	return m
}

// view is the list in w columns and at most h rows: whole where that has room, else each
// item cut to a row, around the present one.
func (m menu) view(st styles, focused bool, w, h int) []string {
	var whole, short []string
	for i := range m.rows() {
		here := focused && i == m.at
		line := m.line(st, i, here, w)
		short = append(short, line)
		number, text := m.row(i)
		head := "  " + number
		more := wrap(text, w-len(head))
		if len(more) < 2 {
			whole = append(whole, line)
			continue
		}
		look := lipgloss.NewStyle()
		if here {
			head, look = "> "+number, st.title
		}
		for _, l := range more {
			whole = append(whole, look.Render(head+l))
			head = strings.Repeat(" ", len(head))
		}
	}
	if len(whole) <= h {
		return whole
	}
	return around(short, max(0, m.at), h)
}

// line is an item on one row, cut where it is longer.
func (m menu) line(st styles, i int, here bool, w int) string {
	number, text := m.row(i)
	if here {
		return st.title.Render(cut("> "+number+text, w))
	}
	return cut("  "+number+text, w)
}

// row is the number of a row, with its mark, and its text.
func (m menu) row(i int) (number, text string) {
	says := wordsOf().Scroll
	switch {
	case i == len(m.items) && len(m.chosen()) == 0:
		return "", says.NoneMarked
	case i == len(m.items):
		return "", fmt.Sprintf(says.Marked, strings.Join(m.numbers(), ", "))
	case m.many && m.marked[i]:
		return fmt.Sprintf("%d [x] ", i+1), m.items[i].Text
	case m.many:
		return fmt.Sprintf("%d [ ] ", i+1), m.items[i].Text
	default:
		return fmt.Sprintf("%d ", i+1), m.items[i].Text
	}
}

// around is at most h of the lines, the one at among them; a line that stands
// for hidden ones says so.
func around(lines []string, at, h int) []string {
	if len(lines) <= h || h <= 0 {
		return lines
	}
	from := min(max(0, at-h/2), len(lines)-h)
	shown := slices.Clone(lines[from : from+h])
	if from > 0 && at != from {
		shown[0] = wordsOf().Scroll.ListAbove
	}
	if from+h < len(lines) && at != from+h-1 {
		shown[h-1] = wordsOf().Scroll.ListBelow
	}
	return shown
}
