package tui

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"

	"ampwalk/tui/wiring"
)

// styles are all colours and weights. None carries a meaning that the words and signs
// beside it do not.
type styles struct {
	title   lipgloss.Style // what is asked
	do      lipgloss.Style // what to do now
	label   lipgloss.Style // Do, Meter, Probes
	caution lipgloss.Style
	problem lipgloss.Style
	chosen  lipgloss.Style // the line or action that Enter would take
	here    lipgloss.Style // the present rung
	field   lipgloss.Style // where one types
	quiet   lipgloss.Style // rules, hints, help; no grey, which the sun and some palettes hide
	healthy lipgloss.Style
	doubt   lipgloss.Style
	fault   lipgloss.Style
	red     lipgloss.Style // where the red probe goes
	black   lipgloss.Style // and the black one
	clamp   lipgloss.Style
	opened  lipgloss.Style // what is drawn open
	taken   lipgloss.Style // a value on the drawing

	base string // begins every line, and goes on after each style; "" for the terminal's own colours
}

// newStyles are the styles of a theme for what r can show.
func newStyles(r *lipgloss.Renderer, t Theme) styles {
	plain := r.NewStyle().Inline(true)
	bold := plain.Bold(true)
	marked := bold.Reverse(true)
	if t == Sunlight {
		return styles{
			title: plain, do: plain, label: plain.Underline(true), caution: marked, problem: marked, chosen: marked, here: marked, field: marked,
			quiet: plain, healthy: plain, doubt: plain, fault: marked, red: marked, black: marked, clamp: marked, opened: marked, taken: plain,
			base: t.page(r.ColorProfile()),
		}
	}
	p := palettes[t]
	danger := bold.Foreground(whiteInk).Background(p.danger)
	return styles{
		title:   bold.Foreground(p.accent),
		do:      bold,
		label:   plain.Foreground(p.accent),
		caution: danger,
		problem: bold.Foreground(p.fault),
		chosen:  marked,
		here:    marked,
		field:   marked,
		quiet:   plain,
		healthy: plain.Foreground(p.healthy),
		doubt:   plain.Foreground(p.doubt),
		fault:   bold.Foreground(p.fault),
		red:     danger,
		black:   marked,
		clamp:   marked.Foreground(p.accent),
		opened:  bold.Foreground(p.fault),
		taken:   bold,
		base:    t.page(r.ColorProfile()),
	}
}

// noColors are the styles for who wants no colour: bold and reverse alone, which r can
// show.
func noColors(r *lipgloss.Renderer) styles {
	plain := r.NewStyle().Inline(true)
	bold := plain.Bold(true)
	marked := bold.Reverse(true)
	return styles{
		title: bold, do: bold, label: plain, caution: marked, problem: bold, chosen: marked, here: marked, field: marked,
		quiet: plain, healthy: plain, doubt: plain, fault: bold, red: marked, black: marked, clamp: marked, opened: bold, taken: bold,
	}
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
		wiring.Read: st.taken, wiring.Fault: st.fault,
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
