package tui

import (
	"errors"
	"fmt"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/quantity"
)

// understood says how what is typed so far would be taken, "" where nothing is
// typed. It does not refuse anything: Enter does.
func (s visitScreen) understood() string {
	if !s.typed() || s.field.text() == "" {
		return ""
	}
	w := visitWords()
	a, err := s.talk.Understand(s.field.text())
	doubt, parse := (*visiting.Doubt)(nil), (*quantity.ParseError)(nil)
	switch {
	case errors.As(err, &doubt):
		return w.Unusual
	case errors.As(err, &parse):
		return fmt.Sprintf(w.NotYet, parse.Err)
	case err != nil:
		return fmt.Sprintf(w.NotYet, err)
	case a.Number != nil && s.prompt.Expected != nil:
		return "= " + a.Text() + ", " + placed(*a.Number, *s.prompt.Expected)
	default:
		return "= " + a.Text()
	}
}

// placed says whether x lies where most readings would.
func placed(x float64, r belief.Range) string {
	if r.Holds(x, 0) {
		return visitWords().Expected
	}
	return visitWords().Unexpected
}
