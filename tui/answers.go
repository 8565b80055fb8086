package tui

import (
	"strings"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/quantity"
)

// A given is an answer as lists show it.
type given struct {
	step  string
	title string
	text  string
}

// givens are the answers of v with the titles of their steps.
func givens(v visit) []given {
	var list []given
	for _, a := range v.Answers() {
		title := a.Step
		if p, ok := v.PromptFor(a.Step); ok {
			title = p.Step.Title
		}
		list = append(list, given{step: a.Step, title: title, text: visiting.TakesText(v.Takes(a.Step))})
	}
	return list
}

// unitSign is a unit of the readings file as people write it.
func unitSign(unit string) string {
	_, sign, _ := strings.Cut(quantity.Format(0, unit), " ")
	return sign
}
