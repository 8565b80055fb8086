package report

import (
	"fmt"
	"strings"

	"ampwalk/diagnose/field/document"
)

// A bar is a row of a chart: one number, or one of each kind in the legend.
type bar struct {
	name string
	n    []int
}

func (b bar) sum() (n int) {
	for _, k := range b.n {
		n += k
	}
	return n
}

// Measures of a chart [mm].
const (
	chartW  = 88.0
	nameW   = 46.0
	countW  = 9.0
	rowH    = 4.6
	barH    = 3.0
	letterH = 2.5
	outline = 0.15
)

// tonesOf are the tones of the kinds, which can be told apart in grey.
var tonesOf = []document.Tone{document.Accent, document.Faint, document.Ink, document.Quiet}

// chart draws bars, in pieces where there is a legend; the same stands in words
// beside it.
func chart(caption string, legend []string, bars []bar) document.Block {
	most, widest := 1, 0
	for _, b := range bars {
		most, widest = max(most, b.sum()), max(widest, len([]rune(b.name)))
	}
	left := min(nameW, 2+1.4*float64(widest))
	var d document.Drawing
	d.W = chartW
	words := make([]string, 0, len(bars))
	x := 0.0
	for i, name := range legend {
		w := d.W / float64(len(legend))
		d.Add(document.Area{Points: document.Rect(x, 0.4, 2.4, 2.4), Tone: tonesOf[i]}, document.Frame(x, 0.4, 2.4, 2.4, outline, document.Ink), label(x+3.2, 2.5, name, document.Left, w-3.6))
		x += w
	}
	if len(legend) > 0 {
		d.H = rowH
	}
	for _, b := range bars {
		d.Add(label(left-1.5, d.H+barH-0.4, b.name, document.Right, left-1.5))
		x := left
		for i, n := range b.n {
			if n == 0 {
				continue
			}
			w := (d.W - left - countW) * float64(n) / float64(most)
			d.Add(document.Area{Points: document.Rect(x, d.H, w, barH), Tone: tonesOf[i]}, document.Frame(x, d.H, w, barH, outline, document.Ink))
			x += w
		}
		d.Add(label(x+1, d.H+barH-0.4, fmt.Sprint(b.sum()), document.Left, countW-1))
		d.H += rowH
		words = append(words, told(b, legend))
	}
	return document.Picture{Drawing: d, Caption: caption, Words: words}
}

// told is a bar in words.
func told(b bar, legend []string) string {
	text := fmt.Sprintf("%s: %d", b.name, b.sum())
	var kinds []string
	for i, name := range legend {
		if b.n[i] > 0 {
			kinds = append(kinds, fmt.Sprintf("%s %d", name, b.n[i]))
		}
	}
	if len(kinds) > 0 {
		text += " (" + strings.Join(kinds, ", ") + ")"
	}
	return text + "."
}

func label(x, y float64, text string, align document.Align, most float64) document.Label {
	return document.Label{At: document.Point{X: x, Y: y}, Text: text, Size: letterH, Align: align, Max: most}
}
