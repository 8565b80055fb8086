package condition

import (
	"slices"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Benefit is what a minute of the action is worth, counted for its danger: the
// chance that it helps over its minutes times its risk [1/min]. Times the
// probability of its condition it compares actions of different conditions.
//
// Source: the p/c rule of decision-theoretic troubleshooting, conditions.toml.
func (a Action) Benefit() float64 {
	if a.Minutes <= 0 {
		return 0
	}
	return a.Helps / (a.Minutes * max(a.Risk, 1))
}

// Advised reports whether the action should be done where its condition has
// probability p, with these readings taken: nobody replaces a battery that may
// be sound, nor one that was not tested under load.
func (a Action) Advised(p float64, taken func(reading.Key) bool) bool {
	return p >= a.SureFrom && (a.After == "" || taken(a.After))
}

// ToDo lists what to do about the condition at a battery of that chemistry, best
// first, where the condition has probability p and these readings were taken.
func (c Condition) ToDo(chem site.Chemistry, p float64, taken func(reading.Key) bool) []Action {
	return slices.DeleteFunc(c.ActionsFor(chem), func(a Action) bool { return !a.Advised(p, taken) })
}

// ActionsFor lists the actions that fit the chemistry, best first: what makes
// safe, then by benefit.
func (c Condition) ActionsFor(chem site.Chemistry) []Action {
	list := slices.DeleteFunc(slices.Clone(c.Actions), func(a Action) bool { return !fits(a.Chemistries, chem) })
	slices.SortStableFunc(list, func(a, b Action) int {
		switch {
		case a.First != b.First && a.First, a.First == b.First && a.Benefit() > b.Benefit():
			return -1
		case a.First != b.First, a.Benefit() < b.Benefit():
			return 1
		default:
			return 0
		}
	})
	return list
}
