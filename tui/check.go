package tui

import (
	"github.com/charmbracelet/lipgloss"

	"errors"
	"fmt"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/quantity"
)

// A judgement is how a value looks beside what is expected.
type judgement int

const (
	noJudgement judgement = iota
	like
	unlike
)

// style is the colour of a judgement; the words beside it say the same.
func (j judgement) style(st styles) lipgloss.Style {
	return []lipgloss.Style{st.quiet, st.healthy, st.doubt}[j]
}

// checked is what is typed so far as it is understood, and how that looks.
type checked struct {
	text string
	judgement
}

// understood says how what is typed so far would be taken, "" where nothing is
// typed. It does not refuse anything: Enter does.
func (s visitScreen) understood() checked {
	if !s.typed() || s.field.text() == "" {
		return checked{}
	}
	w := visitWords()
	a, err := s.talk.Understand(s.field.text())
	doubt, parse := (*visiting.Doubt)(nil), (*quantity.ParseError)(nil)
	switch {
	case errors.As(err, &doubt):
		return checked{w.Unusual, unlike}
	case errors.As(err, &parse):
		return checked{fmt.Sprintf(w.NotYet, parse.Err), noJudgement}
	case err != nil:
		return checked{fmt.Sprintf(w.NotYet, err), noJudgement}
	case a.Number != nil && s.prompt.Expected != nil:
		text, how := placed(*a.Number, *s.prompt.Expected)
		return checked{"= " + a.Text() + ", " + text, how}
	default:
		return checked{"= " + a.Text(), noJudgement}
	}
}

// placed says whether x lies where most readings would.
func placed(x float64, r belief.Range) (string, judgement) {
	if r.Holds(x, 0) {
		return visitWords().Expected, like
	}
	return visitWords().Unexpected, unlike
}
