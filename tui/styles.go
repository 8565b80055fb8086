package tui

import "github.com/charmbracelet/lipgloss"

// styles are all colours and weights, ANSI 0 to 15 only. None carries a
// meaning that the words beside it do not.
type styles struct {
	title   lipgloss.Style // what is asked
	label   lipgloss.Style // Do, Meter, Red on
	caution lipgloss.Style
	problem lipgloss.Style
	chosen  lipgloss.Style // the line or action that Enter would take
	here    lipgloss.Style // the present rung
	bar     lipgloss.Style
	quiet   lipgloss.Style // rules, hints, help; no grey, which the sun and some palettes hide
}

func newStyles(r *lipgloss.Renderer) styles {
	plain := r.NewStyle().Inline(true)
	return styles{
		title:   plain.Bold(true),
		label:   plain.Foreground(lipgloss.Color("6")),
		caution: plain.Bold(true).Foreground(lipgloss.Color("3")),
		problem: plain.Bold(true).Foreground(lipgloss.Color("1")),
		chosen:  plain.Bold(true).Reverse(true),
		here:    plain.Bold(true),
		bar:     plain.Foreground(lipgloss.Color("6")),
		quiet:   plain,
	}
}
