package tui

import (
	"math"
	"slices"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// axisGap is the room that the axis leaves beyond what it shows, as a part of it.
const axisGap = 0.04

// mostRangesW is how wide the bars get at most [columns].
const mostRangesW = 90

// ranges draws what one reading would show under each condition as bars on a
// common axis, and at is where it is (NaN: nowhere yet):
//
//	The array circuit is open     X-]
//	Everything works as designed  X          [------]
//	                              ^ 0.02 V    20.90 V
func ranges(e env, shown []belief.Showing, at float64, spec reading.Spec, w int) []string {
	if len(shown) == 0 {
		return nil
	}
	shown, at = slices.Clone(shown), spec.Shown(at)
	for i := range shown {
		shown[i].Range = shown[i].Range.As(spec.Shown)
	}
	w = min(w, mostRangesW)
	lo, hi := math.Inf(1), math.Inf(-1)
	nameW := 0
	for _, s := range shown {
		lo, hi = min(lo, s.Range.Lo), max(hi, s.Range.Hi)
		nameW = max(nameW, ansi.StringWidth(condition.Of(s.ID).Title))
	}
	if !math.IsNaN(at) {
		lo, hi = min(lo, at), max(hi, at)
	}
	room := axisGap * (hi - lo)
	if room == 0 {
		room = 1
	}
	lo, hi = lo-room, hi+room
	nameW = min(nameW, w*2/5)
	axisW := w - nameW - 2
	column := func(x float64) int {
		return min(max(int(math.Round((x-lo)/(hi-lo)*float64(axisW-1))), 0), axisW-1)
	}
	var lines []string
	for _, s := range shown {
		row := []rune(strings.Repeat(" ", axisW))
		for _, p := range s.Range.Pieces() {
			from, to := column(p.Lo), column(p.Hi)
			for x := from; x <= to; x++ {
				row[x] = e.signs.line()
			}
			if from < to {
				row[from], row[to] = e.signs.left(), e.signs.right()
			}
		}
		name := pad(cut(condition.Of(s.ID).Title, nameW), nameW) + "  "
		lines = append(lines, name+marked(e, row, at, column))
	}
	return append(lines, strings.Repeat(" ", nameW+2)+scale(lo+room, hi-room, at, spec.Unit, axisW, column))
}

// marked draws the mark of the reading over a row.
func marked(e env, row []rune, at float64, column func(float64) int) string {
	if math.IsNaN(at) {
		return e.st.label.Render(strings.TrimRight(string(row), " "))
	}
	x := column(at)
	rest := strings.TrimRight(string(row[x+1:]), " ")
	return e.st.label.Render(string(row[:x])) + e.st.chosen.Render("X") + e.st.label.Render(rest)
}

// scale is the line under the bars: the ends of the axis, and the reading under
// its mark, which goes before them where they would meet.
func scale(lo, hi, at float64, unit string, w int, column func(float64) int) string {
	row := []rune(strings.Repeat(" ", w))
	write := func(x int, text string) {
		r := []rune(text)
		x = min(max(x, 0), max(0, w-len(r)))
		for _, c := range row[max(0, x-1):min(w, x+len(r)+1)] {
			if c != ' ' {
				return
			}
		}
		copy(row[x:], r)
	}
	if !math.IsNaN(at) {
		text := "^ " + quantity.Format(at, unit)
		if x := column(at); x+len([]rune(text)) <= w {
			write(x, text)
		} else {
			text = quantity.Format(at, unit) + " ^"
			write(x-len([]rune(text))+1, text)
		}
	}
	write(column(lo), number(lo, unit))
	write(column(hi)-len([]rune(quantity.Format(hi, unit)))+1, quantity.Format(hi, unit))
	return strings.TrimRight(string(row), " ")
}

// number is a quantity without its unit.
func number(x float64, unit string) string {
	text, _, _ := strings.Cut(quantity.Format(x, unit), " ")
	return text
}
