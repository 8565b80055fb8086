package wiring

import (
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/base/plaintext"
)

// A sheet is a grid of characters, each one column wide, with their roles.
// The notes are set in at its left from row noteY on, or follow below it.
type sheet struct {
	cells        [][]cell
	noteW, noteY int
}

type cell struct {
	r    rune
	role Role
}

func newSheet(w, h int) *sheet {
	s := &sheet{cells: make([][]cell, h)}
	for y := range s.cells {
		s.cells[y] = make([]cell, w)
		for x := range s.cells[y] {
			s.cells[y][x].r = ' '
		}
	}
	return s
}

func (s *sheet) put(x, y int, text string, role Role) {
	for i, r := range []rune(text) {
		s.cells[y][x+i] = cell{r, role}
	}
}

// box draws a frame with a title in its upper edge.
func (s *sheet) box(left, top, right, bottom int, title string) {
	edge := func(y int, a, b string) {
		s.put(left, y, a+strings.Repeat("─", right-left-1)+b, Plain)
	}
	edge(top, "┌", "┐")
	edge(bottom, "└", "┘")
	for y := top + 1; y < bottom; y++ {
		s.put(left, y, "│", Plain)
		s.put(right, y, "│", Plain)
	}
	s.put(left+1, top, " "+title+" ", Plain)
}

// inASCII stands for the box-drawing characters where there are none.
var inASCII = strings.NewReplacer("─", "-", "│", "|", "┌", "+", "┐", "+", "└", "+", "┘", "+", "├", "+", "┤", "+", "┬", "+", "┴", "+")

// lines are the rows of the sheet with the notes.
func (s *sheet) lines(notes []Line, boxes bool) []Line {
	var lines []Line
	for y, row := range s.cells {
		line, from := Line(nil), 0
		if i := y - s.noteY; i >= 0 && i < len(notes) {
			line, from = notes[i].padded(s.noteW), s.noteW
		}
		lines = append(lines, append(line, spans(row[from:], boxes)...))
	}
	return append(lines, notes[min(len(notes), len(s.cells)-s.noteY):]...)
}

// spans joins neighbours of one role, without the blanks at the end.
func spans(row []cell, boxes bool) Line {
	for len(row) > 0 && row[len(row)-1].r == ' ' {
		row = row[:len(row)-1]
	}
	var line Line
	for len(row) > 0 {
		n := 1
		for n < len(row) && row[n].role == row[0].role {
			n++
		}
		text := make([]rune, n)
		for i, c := range row[:n] {
			text[i] = c.r
		}
		sp := Span{string(text), row[0].role}
		if !boxes {
			sp.Text = inASCII.Replace(sp.Text)
		}
		line, row = append(line, sp), row[n:]
	}
	return line
}

func (l Line) width() (n int) {
	for _, sp := range l {
		n += ansi.StringWidth(sp.Text)
	}
	return n
}

func (l Line) padded(w int) Line {
	return append(l, Span{Text: strings.Repeat(" ", max(0, w-l.width()))})
}

// notes say in lines of w columns what the marks mean, and how the lamps looked.
func notes(v View, w int) []Line {
	var list []Span
	if v.Red != "" {
		list = append(list, Span{words().Legend.Red, Red}, Span{words().Legend.Black, Black})
	}
	switch {
	case v.Clamp != "" && v.Arrow != NoArrow:
		list = append(list, Span{words().Legend.Arrow, Clamp})
	case v.Clamp != "":
		list = append(list, Span{words().Legend.Clamp, Clamp})
	}
	if v.Fault != "" {
		list = append(list, Span{words().Legend.Fault, Fault})
	}
	lines := flow(list, w)
	list = nil
	lamp := func(prefix, label, look string, asked bool) {
		sp := Span{Text: prefix + label}
		if look != "" {
			sp.Text += ": " + look
		}
		if asked {
			sp = Span{"> " + sp.Text, Asked}
		}
		sp.Text = plaintext.Clean(sp.Text)
		list = append(list, sp)
	}
	for _, l := range v.Site.Controller.Lamps {
		lamp("", l.Label, v.Looks[l.Label], l.Label == v.Lamp)
	}
	if v.Site.Inverter != nil {
		for _, l := range v.Site.Inverter.Lamps {
			lamp(words().Device.Lamp, l.Label, v.InverterLooks[l.Label], l.Label == v.InverterLamp)
		}
	}
	return append(lines, flow(list, w)...)
}

// flow sets the spans on lines of w columns, two blanks between them.
func flow(list []Span, w int) []Line {
	const gap = "  "
	var lines []Line
	for _, sp := range list {
		sp.Text = ansi.Truncate(sp.Text, w, "...")
		n := len(lines)
		if n > 0 && lines[n-1].width()+len(gap)+ansi.StringWidth(sp.Text) <= w {
			lines[n-1] = append(lines[n-1], Span{Text: gap}, sp)
			continue
		}
		lines = append(lines, Line{sp})
	}
	return lines
}
