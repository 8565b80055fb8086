package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/lipgloss"
	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/wiring"
)

// leastShown is the probability under which a condition gets no bar.
const leastShown = 0.005

// The signs before conditions: the same as the colours say.
const (
	signHealthy = "+ "
	signDoubt   = "? "
	signFault   = "! "
)

// judged is the sign of a condition and the style of its bar: healthy, or wrong, held to
// be so or only possible.
func judged(st styles, c visiting.Standing) (sign string, style lipgloss.Style) {
	switch {
	case c.ID == condition.Sound:
		return signHealthy, st.healthy
	case c.P >= wiring.HeldFrom:
		return signFault, st.fault
	default:
		return signDoubt, st.doubt
	}
}

// figuresW are the columns of the figures behind a bar.
const figuresW = len("  100 % (+100)")

// bars draws the leading n conditions as bars with their percentages and the change from
// before, nil at first: one line each, the names cut where they are too long.
func bars(e env, now, before *belief.Result, n, w int) []string {
	leading := visiting.Leading(now, before, n, leastShown)
	barW := max(6, min(20, w/6, w-figuresW-2-widest(leading)))
	nameW := min(widest(leading), w-barW-figuresW-2)
	var lines []string
	for _, c := range leading {
		sign, style := judged(e.st, c)
		lines = append(lines, pad(style.Render(cut(sign+c.Title, nameW)), nameW)+"  "+bar(e, c, barW))
	}
	return lines
}

// tallBars is bars in a column of its own, where a name has a line of its own if the
// longest has no room beside its bar.
func tallBars(e env, now, before *belief.Result, n, w int) []string {
	const least = 8 // of a bar
	leading := visiting.Leading(now, before, n, leastShown)
	if widest(leading)+2+least+figuresW <= w {
		return bars(e, now, before, n, w)
	}
	var lines []string
	for _, c := range leading {
		sign, style := judged(e.st, c)
		lines = append(lines, styled(style, wrap(sign+c.Title, w))...)
		lines = append(lines, "  "+bar(e, c, w-figuresW-2))
	}
	return lines
}

func widest(list []visiting.Standing) int {
	w := 0
	for _, c := range list {
		w = max(w, len(signFault)+ansi.StringWidth(c.Title))
	}
	return w
}

// bar is the bar of w columns of one condition, with its figures.
func bar(e env, c visiting.Standing, w int) string {
	filled := int(math.Round(c.P * float64(w)))
	_, style := judged(e.st, c)
	return style.Render(strings.Repeat(e.signs.filled(), filled)) + strings.Repeat(e.signs.empty(), w-filled) +
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
