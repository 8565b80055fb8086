package tui

import (
	"github.com/charmbracelet/bubbles/key"
	"github.com/charmbracelet/bubbles/viewport"
	tea "github.com/charmbracelet/bubbletea"
)

// env is what every screen is given: the room it has, the looks, the options.
type env struct {
	w, h  int // columns, and rows above the help line
	st    styles
	signs Signs
	opt   *Options
}

// A screen fills the window. It is a value: update gives the screen to show
// next, which is another one when the person goes on or back.
type screen interface {
	update(e env, msg tea.Msg) (screen, tea.Cmd)
	view(e env) []string // at most e.h lines of e.w columns; the root clips the rest
	help() []key.Binding // the help line, the most needed first
	typing() typing
}

// typing says which keys are text on a screen and so no commands.
type typing int

const (
	nothing typing = iota // letters are commands
	figures               // a number with its unit: "?" is still a command
	words                 // all letters and signs are text
)

// over is what a screen has that stands over another.
type over struct{ below screen }

func (o over) lower() screen { return o.below }

// An overlay is a screen over another: messages other than keys are for that
// one, and Back leads back to it.
type overlay interface {
	screen
	lower() screen
	onto(below screen) screen
	key(e env, k tea.KeyMsg) (screen, tea.Cmd)
}

func updateOver(s overlay, e env, msg tea.Msg) (screen, tea.Cmd) {
	k, ok := msg.(tea.KeyMsg)
	switch {
	case !ok:
		below, cmd := s.lower().update(e, msg)
		return s.onto(below), cmd
	case key.Matches(k, keys.Back):
		return s.lower(), nil
	}
	return s.key(e, k)
}

func (over) typing() typing { return nothing }

// A duringVisit is a screen of a visit under way.
type duringVisit interface{ visit() visitScreen }

// visit is the visit below, none if the screen below belongs to none.
func (o over) visit() visitScreen {
	if d, ok := o.below.(duringVisit); ok {
		return d.visit()
	}
	return visitScreen{}
}

// A page is text to scroll.
type page struct{ port viewport.Model }

func newPage() page {
	p := page{viewport.New(0, 0)}
	p.port.MouseWheelEnabled = false
	p.port.KeyMap = viewport.KeyMap{Up: keys.Up, Down: keys.Down, PageUp: keys.PageUp, PageDown: keys.PageDown}
	return p
}

// update scrolls lines shown in a room of w columns and h rows.
func (p page) update(msg tea.KeyMsg, lines []string, w, h int) page {
	p = p.sized(lines, w, h)
	switch {
	case key.Matches(msg, keys.Home):
		p.port.GotoTop()
	case key.Matches(msg, keys.End):
		p.port.GotoBottom()
	default:
		p.port, _ = p.port.Update(msg) // scrolling has no command without the mouse
	}
	return p
}

func (p page) sized(lines []string, w, h int) page {
	const moreLine = 1
	p.port.Width, p.port.Height = w, h
	if len(lines) > h {
		p.port.Height = max(1, h-moreLine)
	}
	p.port.SetContent(joined(lines))
	return p
}

// view is the visible part; its last line says that there is more.
func (p page) view(st styles, lines []string, w, h int) []string {
	p = p.sized(lines, w, h)
	from := min(p.port.YOffset, max(0, len(lines)-p.port.Height))
	to := min(len(lines), from+p.port.Height)
	shown := lines[from:to:to]
	switch {
	case len(lines) <= h:
		return shown
	case from == 0:
		return append(shown, st.quiet.Render(wordsOf().Scroll.Below))
	case to < len(lines):
		return append(shown, st.quiet.Render(wordsOf().Scroll.Both))
	default:
		return append(shown, st.quiet.Render(wordsOf().Scroll.Above))
	}
}

// progress is what stands under the field of a screen that works on it.
func progress(e env, working bool, text string) []string {
	switch {
	case working:
		return []string{"", wordsOf().Working}
	case text != "":
		return append([]string{""}, problem(e.st, text, e.w)...)
	}
	return nil
}
