package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose"
	"ampwalk/diagnose/belief"
)

// leastShown is the probability under which a condition gets no bar.
const leastShown = 0.005

// narrow is the width under which a bar stands below its name [columns].
const narrow = 56

// The states of a system are told in words from these probabilities on.
const (
	sure     = 0.9
	probable = 0.7
)

// bars draws the leading n conditions as bars with their percentages and the
// change from before, nil at first; in a narrow column each below its name.
func bars(st styles, now, before *belief.Result, n, w int) []string {
	leading := diagnose.Leading(now, before, n, leastShown)
	const figures = len("  100 % (+100)")
	if w < narrow {
		var lines []string
		for _, c := range leading {
			lines = append(lines, cut(c.Title, w), "  "+bar(st, c, w-figures-2))
		}
		return lines
	}
	barW := min(20, max(6, w/6))
	nameW := 0
	for _, c := range leading {
		nameW = max(nameW, ansi.StringWidth(c.Title))
	}
	nameW = min(nameW, w-barW-figures-2)
	var lines []string
	for _, c := range leading {
		lines = append(lines, pad(cut(c.Title, nameW), nameW)+"  "+bar(st, c, barW))
	}
	return lines
}

// bar is the bar of w columns of one condition, with its figures.
func bar(st styles, c diagnose.Standing, w int) string {
	filled := int(math.Round(c.P * float64(w)))
	return st.bar.Render(strings.Repeat("#", filled)) + strings.Repeat(".", w-filled) +
		fmt.Sprintf(" %5s", percent(c.P)) + change(c.P, c.P-c.Change)
}

// percent never rounds to certainty.
func percent(p float64) string {
	switch {
	case p > 0 && p < 0.01:
		return "<1 %"
	case p > 0.99 && p < 1:
		return ">99 %"
	default:
		return fmt.Sprintf("%.0f %%", 100*p)
	}
}

// change is the difference of two percentages as they are shown, "" for none.
func change(now, before float64) string {
	points := math.Round(100*now) - math.Round(100*before)
	if points == 0 {
		return ""
	}
	return fmt.Sprintf(" (%+.0f)", points)
}

// stateLines tells the state of the system in short, broken between clauses so
// that every line can stand without the next.
func stateLines(s belief.State, w int) []string {
	clauses := stateWords(s)
	clauses[0] = "Now: " + clauses[0]
	return flow(clauses, "; ", w)
}

// stateWords tells the state of the system in a few clauses, surest words
// only where the belief is sure.
func stateWords(s belief.State) []string {
	words := []string{
		likely(s.Charging, "charge reaches the battery", "no charge reaches the battery"),
		fmt.Sprintf("battery %.0f to %.0f %% full", 100*s.ChargeLevel.P05, 100*s.ChargeLevel.P95),
		likely(s.Daylight, "daylight", "dark"),
		likely(s.Regulating, "power is held back", "no power is held back"),
	}
	if s.LoadsCut > 1-probable {
		words = append(words, likely(s.LoadsCut, "loads cut off", "loads not cut off"))
	}
	if s.Regulating > probable && s.SpareW.P95 >= 1 {
		words = append(words, fmt.Sprintf("%.0f to %.0f W to spare", s.SpareW.P05, s.SpareW.P95))
	}
	return words
}

func likely(p float64, yes, no string) string {
	switch {
	case p >= sure:
		return yes
	case p >= probable:
		return "probably " + yes
	case p <= 1-sure:
		return no
	case p <= 1-probable:
		return "probably " + no
	default:
		return fmt.Sprintf("%s or not (%s)", yes, diagnose.Percent(p))
	}
}

// weight puts log10 of a likelihood ratio into words; 1 is ten to one.
func weight(log10 float64) string {
	side := " for it"
	if log10 < 0 {
		side = " against it"
	}
	switch d := math.Abs(log10); {
	case d < 0.3:
		return "says little either way"
	case d < 1:
		return "speaks somewhat" + side
	case d < 2:
		return "speaks clearly" + side
	default:
		return "speaks strongly" + side
	}
}
