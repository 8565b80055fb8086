package tui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"

	"ampwalk/tui/wiring"
)

// A theme is one of the two looks of the screens.
type theme bool

const (
	ordinary theme = false // the terminal's own colours
	sunlight theme = true  // black on white throughout, for a screen in the sun
)

// styles are all colours and weights. None carries a meaning that the words
// beside it do not.
type styles struct {
	title   lipgloss.Style // what is asked
	label   lipgloss.Style // Do, Meter, Probes
	caution lipgloss.Style
	problem lipgloss.Style
	chosen  lipgloss.Style // the line or action that Enter would take
	here    lipgloss.Style // the present rung
	bar     lipgloss.Style
	quiet   lipgloss.Style // rules, hints, help; no grey, which the sun and some palettes hide
	red     lipgloss.Style // where the red probe goes
	black   lipgloss.Style // and the black one
	clamp   lipgloss.Style
	opened  lipgloss.Style // what is drawn open

	base string // begins every line, and goes on after each style; "" for the terminal's own colours
}

// Only colours that can be read on black and on white are used, in the usual
// palettes: red and magenta (palette_test.go).
const (
	red     = lipgloss.Color("1")
	magenta = lipgloss.Color("5")
)

func newStyles(r *lipgloss.Renderer, t theme) styles {
	plain := r.NewStyle().Inline(true)
	bold := plain.Bold(true)
	marked := bold.Reverse(true)
	if t == sunlight {
		return styles{
			title: plain, label: plain.Underline(true), caution: marked, problem: marked, chosen: marked, here: marked,
			bar: plain, quiet: plain, red: marked, black: marked, clamp: marked, opened: marked,
			base: blackOnWhite(r.ColorProfile()),
		}
	}
	return styles{
		title:   bold,
		label:   plain.Foreground(magenta),
		caution: marked,
		problem: bold.Foreground(red),
		chosen:  marked,
		here:    marked,
		bar:     plain.Foreground(magenta),
		quiet:   plain,
		red:     marked.Foreground(red),
		black:   marked,
		clamp:   marked.Foreground(magenta),
		opened:  bold.Foreground(red),
	}
}

// blackOnWhite sets bold black letters on a white ground. Where the terminal has
// more than 16 colours it names them, since a palette may make something else
// of "white".
func blackOnWhite(p termenv.Profile) string {
	var ink, ground string
	switch p {
	case termenv.TrueColor:
		ink, ground = "#000000", "#ffffff"
	case termenv.ANSI256:
		ink, ground = "16", "231"
	case termenv.ANSI:
		ink, ground = "0", "15"
	default:
		return ""
	}
	return termenv.CSI + "1;" + p.Color(ink).Sequence(false) + ";" + p.Color(ground).Sequence(true) + "m"
}

const resetAll = termenv.CSI + termenv.ResetSeq + "m"

// page lays the ground of the theme under a line of w columns.
func (st styles) page(line string, w int) string {
	if st.base == "" {
		return line
	}
	line = strings.ReplaceAll(line, resetAll, resetAll+st.base)
	return st.base + line + strings.Repeat(" ", max(0, w-ansi.StringWidth(line))) + resetAll
}

// drawn gives the lines of a drawing their styles.
func (st styles) drawn(lines []wiring.Line) []string {
	role := map[wiring.Role]lipgloss.Style{
		wiring.Red: st.red, wiring.Black: st.black, wiring.Clamp: st.clamp, wiring.Opened: st.opened, wiring.Asked: st.title,
	}
	out := make([]string, len(lines))
	for i, l := range lines {
		for _, sp := range l {
			if s, ok := role[sp.Role]; ok {
				sp.Text = s.Render(sp.Text)
			}
			out[i] += sp.Text
		}
	}
	return out
}
