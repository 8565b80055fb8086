package tui

import (
	"fmt"
	"math"
	"strings"

	"github.com/NimbleMarkets/ntcharts/canvas"
	"github.com/NimbleMarkets/ntcharts/linechart"
	"github.com/charmbracelet/lipgloss"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
)

// The least and the greatest size of the curve [columns, rows].
const (
	leastCurveW, mostCurveW = 30, 76
	curveH                  = 12
)

// curve draws the array's current-voltage curve and the present operating point
// on it.
func curve(e env, c *belief.Curve, w int) []string {
	w = min(w, mostCurveW)
	if c == nil || w < leastCurveW {
		return nil
	}
	topV, topA := c.Volts[len(c.Volts)-1], 1.1*max(c.Amps[0], c.AtA)
	chart := linechart.New(w, curveH, 0, topV, 0, topA,
		linechart.WithXYSteps(12, 3),
		linechart.WithXLabelFormatter(func(_ int, x float64) string { return fmt.Sprintf("%.1f", x) }),
		linechart.WithYLabelFormatter(func(_ int, y float64) string { return fmt.Sprintf("%.*f", decimals(topA), y) }))
	chart.DrawXYAxisAndLabel()
	at := func(k int) canvas.Float64Point { return canvas.Float64Point{X: c.Volts[k], Y: min(c.Amps[k], topA)} }
	for k := range len(c.Volts) - 1 {
		if e.signs == Braille {
			chart.DrawBrailleLine(at(k), at(k+1))
		} else {
			chart.DrawRuneLine(at(k), at(k+1), '*')
		}
	}
	chart.DrawRune(canvas.Float64Point{X: c.BestV, Y: c.BestA}, 'M')
	chart.DrawRuneWithStyle(canvas.Float64Point{X: clamp(c.AtV, topV), Y: clamp(c.AtA, topA)}, 'X', e.st.chosen)
	lines := []string{"A"}
	for line := range strings.SplitSeq(chart.View(), "\n") {
		line = strings.TrimRight(line, " ")
		if e.signs == ASCII {
			line = strings.NewReplacer("│", "|", "─", "-", "└", "+").Replace(line)
		}
		lines = append(lines, line)
	}
	last := len(lines) - 1
	lines[last] = pad(lines[last], w-2) + " V"
	return append(lines, styled(lipgloss.NewStyle(), wrap(visiting.PointSentence(c), w))...)
}

// clamp keeps a mark within the drawing.
func clamp(x, top float64) float64 { return min(max(x, 0), top) }

// decimals are those that tell steps of an axis up to top apart.
func decimals(top float64) int { return max(0, 1-int(math.Floor(math.Log10(top)))) }
