package tui

import (
	"errors"
	"math"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// plainEnv is a room of w columns without colour.
func plainEnv(w int, signs Signs) env {
	opt := options()
	return env{w: w, h: 30, st: stylesIn(termenv.Ascii), signs: signs, opt: &opt}
}

var volts = reading.Spec{Key: reading.ArrayV, Unit: "V"}

func TestRanges(t *testing.T) {
	shown := []belief.Showing{
		{ID: condition.ArrayOpen, Range: belief.Range{Lo: -0.1, Hi: 0.3}},
		{ID: condition.Sound, Range: belief.Range{Lo: 10, Hi: 20}},
	}
	lines := ranges(plainEnv(80, ASCII), shown, 15, volts, 80)
	require.Len(t, lines, 3)
	x := strings.Index(lines[0], "X")
	assert.Equal(t, x, strings.Index(lines[1], "X"), "one mark on all bars")
	assert.Equal(t, x, strings.Index(lines[2], "^"))
	assert.Contains(t, lines[2], "^ 15.00 V")
	from, to := strings.Index(lines[1], "["), strings.Index(lines[1], "]")
	assert.InDelta(t, (from+to)/2, x, 1, "15 is in the middle of 10 and 20")
	assert.Less(t, strings.Index(lines[0], "]"), from, "one axis for both")
	assert.Equal(t, to+1, len(lines[1]), "the axis ends beyond the last")

	assert.NotContains(t, strings.Join(ranges(plainEnv(80, ASCII), shown, math.NaN(), volts, 80), "\n"), "X")
	assert.Nil(t, ranges(plainEnv(80, ASCII), nil, 1, volts, 80))
	for w := 30; w < 200; w += 7 {
		for _, l := range ranges(plainEnv(w, Boxes), shown, -3, volts, w) {
			assert.LessOrEqual(t, ansi.StringWidth(l), w)
		}
	}
}

// The bars have the sign that the clamp shows.
func TestRangesOfATurnedReading(t *testing.T) {
	spec, ok := reading.SpecOf(reading.StandbyA)
	require.True(t, ok)
	shown := []belief.Showing{
		{ID: condition.Sound, Range: belief.Range{Lo: 0.01, Hi: 0.1}},
		{ID: condition.StandbyDrain, Range: belief.Range{Lo: 0.2, Hi: 0.4}},
	}
	lines := ranges(plainEnv(80, ASCII), shown, 0.15, spec, 80)
	require.Len(t, lines, 3)
	assert.Less(t, strings.Index(lines[1], "]"), strings.Index(lines[0], "["), "a drain lies to the left")
	assert.Contains(t, lines[2], "^ -0.15 A")
	assert.Contains(t, lines[2], "-0.40")
	assert.InDelta(t, 0.01, shown[0].Range.Lo, 0, "what is believed stays")
}

// The curve begins at the top left and ends at the bottom right, and the
// operating point stands where its figures say.
func TestCurve(t *testing.T) {
	c := &belief.Curve{Volts: []float64{0, 10, 15, 20}, Amps: []float64{5, 5, 4, 0}, BestV: 15, BestA: 4, AtV: 10, AtA: 5}
	lines := curve(plainEnv(60, ASCII), c, 60)
	require.Greater(t, len(lines), curveH)
	drawing := lines[:curveH]
	at := func(sign string) (x, y int) {
		for y, l := range drawing {
			if x := strings.Index(l, sign); x >= 0 {
				return x, y
			}
		}
		return -1, -1
	}
	firstX, firstY := at("*")
	pointX, pointY := at("X")
	bestX, bestY := at("M")
	assert.Equal(t, firstY, pointY, "as high as at no voltage")
	assert.Greater(t, bestX, pointX)
	assert.Greater(t, bestY, pointY)
	right := len(drawing[curveH-2])
	assert.InDelta(t, (firstX+right)/2, pointX, 2, "10 V are in the middle of 20 V")
	assert.Contains(t, strings.Join(lines, " "), "works now at 10.00 V and 5.00 A")
	assert.Nil(t, curve(plainEnv(60, ASCII), nil, 60))
	assert.Contains(t, strings.Join(curve(plainEnv(60, Braille), c, 60), ""), "⣀")
}

// A what-if shows where an answer would lead; the visit does not change, and one
// that a later one has overtaken is dropped.
func TestWhatIf(t *testing.T) {
	v := answered(3)
	opt := options()
	var asked []float64
	opt.Infer = func(in belief.Input) (*belief.Result, error) {
		x, ok := in.Readings.Numbers[reading.ArrayV]
		if !ok {
			return believing(0.61), nil
		}
		asked = append(asked, x)
		if x > 100 {
			return nil, errors.New("no plant does that")
		}
		return believing(0.05), nil
	}
	d := visitUnderWay(v, opt).press("f4")
	require.True(t, showing(d, "What if this were: Voltage at the array terminals"), d.m.View())
	d.press("18,9")
	assert.True(t, showing(d, "18.90 V ^"), "the figure typed is a mark on the ranges")
	d.press("enter")
	assert.Equal(t, []float64{18.9}, asked)
	assert.True(t, showing(d, "If it were 18.90 V"), d.m.View())
	assert.True(t, showing(d, "  5 % (-56)"), d.m.View())
	assert.Len(t, v.answers, 3)
	assert.InDelta(t, 0.61, v.Belief().Leader().P, 1e-12)

	d.press("x", "enter")
	assert.True(t, showing(d, "Problem:"))
	d.press("backspace", "backspace", "backspace", "backspace", "backspace", "999", "enter")
	assert.True(t, showing(d, "no plant does that"), d.m.View())

	d.press("backspace", "backspace", "backspace")
	d.hold = true
	d.press("12", "enter")
	assert.True(t, showing(d, "Working"))
	d.press("3", "enter")
	d.hold = false
	d.run(d.held[1])
	d.run(d.held[0])
	assert.True(t, showing(d, "If it were 123.00 V"), "the last one asked stands")
	d.press("esc")
	assert.True(t, showing(d, "> _"), "the question is as it was")
}
