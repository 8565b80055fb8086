package tui

import (
	"errors"

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
	a, err := s.talk.Understand(s.field.text())
	doubt, parse := (*visiting.Doubt)(nil), (*quantity.ParseError)(nil)
	switch {
	case errors.As(err, &doubt):
		return "unusual at this site"
	case errors.As(err, &parse):
		return "not yet: " + parse.Err.Error()
	case err != nil:
		return "not yet: " + err.Error()
	case a.Number != nil && s.prompt.Expected != nil:
		return "= " + a.Text() + ", " + placed(*a.Number, *s.prompt.Expected)
	default:
		return "= " + a.Text()
	}
}

// placed says whether x lies where most readings would.
func placed(x float64, r belief.Range) string {
	if r.Holds(x, 0) {
		return "as expected"
	}
	return "not as expected"
}
