package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/site"
)

// leastShown is the probability under which a condition gets no bar.
const leastShown = 0.005

// narrow is the width under which a bar stands below its name [columns].
const narrow = 56

// bars draws the leading n conditions as bars with their percentages and the
// change from before, nil at first; in a narrow column each below its name.
func bars(e env, now, before *belief.Result, n, w int) []string {
	leading := visiting.Leading(now, before, n, leastShown)
	const figures = len("  100 % (+100)")
	if w < narrow {
		var lines []string
		for _, c := range leading {
			lines = append(lines, cut(c.Title, w), "  "+bar(e, c, w-figures-2))
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
		lines = append(lines, pad(cut(c.Title, nameW), nameW)+"  "+bar(e, c, barW))
	}
	return lines
}

// bar is the bar of w columns of one condition, with its figures.
func bar(e env, c visiting.Standing, w int) string {
	filled := int(math.Round(c.P * float64(w)))
	return e.st.bar.Render(strings.Repeat(e.signs.filled(), filled)) + strings.Repeat(e.signs.empty(), w-filled) +
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
func stateLines(at *site.Site, b *belief.Result, w int) []string {
	return flow(strings.Split(fmt.Sprintf(visitWords().State, visiting.StateLine(at, b)), "; "), "; ", w)
}

// weight puts log10 of a likelihood ratio into words; 1 is ten to one.
func weight(log10 float64) string {
	w := visitWords().Weight
	side := w.For
	if log10 < 0 {
		side = w.Against
	}
	switch d := math.Abs(log10); {
	case d < 0.3:
		return w.Little
	case d < 1:
		return fmt.Sprintf(side, w.Somewhat)
	case d < 2:
		return fmt.Sprintf(side, w.Clearly)
	default:
		return fmt.Sprintf(side, w.Strongly)
	}
}
