package document

import (
	"strings"

	"codeberg.org/go-pdf/fpdf"

	"ampwalk/diagnose/base/plaintext"
)

func (l *layout) titled(d Document, w float64) []atom {
	atoms := l.lines("", d.Title, 0, w, l.title)
	rule := atom{h: 1.6, draw: func(x, y float64) { l.rule(x, y+0.9, w, 0.5, Accent) }}
	return append(atoms, rule)
}

func (l *layout) section(s Section, w float64) []atom {
	if len(s.Blocks) == 0 {
		return nil
	}
	space := l.gap(l.look.section)
	space.keep, space.open = true, true
	atoms := []atom{space}
	for _, a := range l.lines("", s.Heading, 0, w, l.heading) {
		a.keep = true
		atoms = append(atoms, a)
	}
	under := l.gap(afterHead)
	under.keep = true
	atoms = append(atoms, under)
	if s.Fine {
		defer func(was look) { l.look = was }(l.look)
		l.body.size *= fine
		l.small.size *= fine
	}
	for _, b := range s.Blocks {
		atoms = append(atoms, b.pdf(l, w)...)
	}
	return atoms
}

// fine is how much smaller fine print is.
const fine = 0.89

func (b Paragraph) pdf(l *layout, w float64) []atom {
	return whole(l.lines("", string(b), 0, w, l.body))
}

// fewLines stay together on a page.
const fewLines = 4

func whole(lines []atom) []atom {
	for i := range lines {
		lines[i].keep = i < len(lines)-1 && len(lines) <= fewLines
	}
	return lines
}

// pdf is lines on a grey ground.
func (b Verdict) pdf(l *layout, w float64) []atom {
	const in, above = 2.4, 1.6
	lines := l.lines("", string(b), 0, w-2*in, l.verdict)
	atoms := make([]atom, 0, len(lines)+1)
	for i, a := range lines {
		top, bottom := 0.0, 0.0
		if i == 0 {
			top = above
		}
		if i == len(lines)-1 {
			bottom = above
		}
		h := top + a.h + bottom
		atoms = append(atoms, atom{h: h, keep: i < len(lines)-1 && len(lines) <= fewLines, draw: func(x, y float64) {
			l.fill(Faint)
			l.pdf.Rect(x, y, w, h+0.05, "F") // a little over, or a hair shows between lines
			l.fill(Accent)
			l.pdf.Rect(x, y, 1, h+0.05, "F")
			a.draw(x+in, y+top)
		}})
	}
	return append(atoms, l.gap(1))
}

func (b Facts) pdf(l *layout, w float64) []atom {
	name := min(24.0*l.body.size/usual.body.size, w/3)
	var atoms []atom
	for _, f := range b {
		quiet := l.body
		quiet.tone = Quiet
		label := l.line(visible(l.cut(f.Name, name-1, quiet)), 0, name, quiet)
		for i, a := range l.lines("", f.Value, name, w, l.body) {
			if value := a.draw; i == 0 {
				a.draw = func(x, y float64) { label.draw(x, y); value(x, y) }
			}
			atoms = append(atoms, a)
		}
	}
	return atoms
}

func (b List) pdf(l *layout, w float64) []atom {
	var atoms []atom
	for i, it := range b.Items {
		mark := b.mark(i)
		if !b.Numbered {
			mark = "– "
		}
		item := whole(l.lines(mark, it.Text, 0, w, l.body))
		indent := l.width(mark, l.body)
		for _, t := range it.Below {
			for n := range item {
				item[n].keep = true
			}
			item = append(item, whole(l.lines("", t, indent, w, l.small))...)
		}
		atoms = append(atoms, item...)
	}
	return atoms
}

const (
	cellGap  = 2.4  // between columns of a table [mm]
	barMM    = 34.0 // of a drawn bar
	rowAbove = 0.2
	rowBelow = 0.4
)

func (b Table) pdf(l *layout, w float64) []atom {
	widths := b.widthsMM(l, w)
	bold := l.body
	bold.bold = true
	atoms := l.row(Row(b.Head...), widths, bold, 0.35, Ink)
	head := &atoms[len(atoms)-1] // of a head too long for one piece the last
	head.keep, head.heads = true, true
	again := *head
	for i, r := range b.Rows {
		for n, a := range l.row(r, widths, l.body, 0.1, Quiet) {
			if i+n > 0 {
				a.head = &again
			}
			atoms = append(atoms, a)
		}
	}
	return atoms
}

// widthsMM shares w out: every column what its widest cell needs; where that is
// too much, the widest columns of texts give way.
func (b Table) widthsMM(l *layout, w float64) []float64 {
	bold := l.body
	bold.bold = true
	widths := make([]float64, len(b.Head))
	bars := make([]bool, len(b.Head))
	total := -cellGap
	for i := range widths {
		widths[i] = l.wide(b.Head[i], bold)
		for _, r := range b.Rows {
			if bars[i] = bars[i] || r[i].Bar != nil; bars[i] {
				widths[i] = max(widths[i], min(barMM, w/4))
				continue
			}
			widths[i] = max(widths[i], l.wide(r[i].Text, bold))
		}
		widths[i] += 0.1 // a text as wide as its column fits it
		total += widths[i] + cellGap
	}
	for ; total > w; total-- {
		widest := -1
		for i := range widths {
			if !bars[i] && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		widths[widest]--
	}
	if len(widths) > 0 { // what is left over goes to the last column
		widths[len(widths)-1] += w - total
	}
	return widths
}

// wide is the width of a text on one line, of a very long one that of its beginning.
func (l *layout) wide(text string, f face) float64 {
	runes := []rune(plaintext.Clean(text))
	return l.width(visible(string(runes[:min(len(runes), longLine)])), f)
}

// maxRows are the lines of one piece of a row: less than any page.
const maxRows = 40

// row is one row with a line under it, in pieces where it is very long.
func (l *layout) row(cells []Cell, widths []float64, f face, under float64, tone Tone) []atom {
	columns := make([][]atom, len(cells))
	rows := 1
	for i, c := range cells {
		if c.Bar != nil {
			continue
		}
		own := f
		own.bold = own.bold || c.Strong
		columns[i] = l.lines("", c.Text, 0, widths[i], own)
		rows = max(rows, len(columns[i]))
	}
	high := f.height(l)
	var pieces []atom
	for from := 0; from < rows; from += maxRows {
		to := min(from+maxRows, rows)
		h := float64(to-from)*high + rowAbove + rowBelow
		pieces = append(pieces, atom{h: h, draw: func(x, y float64) {
			left := x
			for i, c := range cells {
				if c.Bar != nil && from == 0 {
					l.bar(*c.Bar, x, y+rowAbove, min(barMM, widths[i]), high)
				}
				for n := from; n < min(to, len(columns[i])); n++ {
					columns[i][n].draw(x, y+rowAbove+float64(n-from)*high)
				}
				x += widths[i] + cellGap
			}
			if to == rows {
				l.rule(left, y+h-0.2, x-cellGap-left, under, tone)
			}
		}})
	}
	return pieces
}

// bar draws an expected range on its scale and what was found.
func (l *layout) bar(b Bar, x, y, w, h float64) {
	mid := y + h/2
	l.rule(x, mid, w, 0.15, Quiet)
	for _, p := range b.Pieces {
		l.fill(Faint)
		l.stroke(0.2, Accent, false)
		l.pdf.Rect(x+p[0]*w, mid-0.95, max(0.5, (p[1]-p[0])*w), 1.9, "FD")
	}
	for _, at := range b.At {
		l.stroke(0.55, Ink, false)
		l.pdf.Line(x+at*w, mid-1.4, x+at*w, mid+1.4)
	}
}

func (b Picture) pdf(l *layout, w float64) []atom {
	scale := min(w/b.Drawing.W, 1)
	atoms := []atom{{h: b.Drawing.H * scale, draw: func(x, y float64) {
		for _, s := range b.Drawing.Shapes {
			s.draw(l, x, y, scale)
		}
	}}}
	if b.Caption != "" {
		atoms[0].keep = true
		atoms = append(atoms, whole(l.lines("", b.Caption, 0, w, l.small))...)
	}
	return atoms
}

func (b Signatures) pdf(l *layout, w float64) []atom {
	var atoms []atom
	for _, who := range b {
		atoms = append(atoms, l.blank(who, w, true))
	}
	return atoms
}

func (b Blanks) pdf(l *layout, w float64) []atom {
	var atoms []atom
	for _, what := range b {
		atoms = append(atoms, l.blank(what, w, false))
	}
	return atoms
}

// blank is a name and a line to write on, with a shorter one for the date.
func (l *layout) blank(name string, w float64, date bool) atom {
	const dateW, sep = 38.0, 5.0
	label := min(40.0*l.body.size/usual.body.size, w/3)
	h := l.body.height(l) + 3.6
	text := l.line(visible(l.cut(strings.TrimSpace(name), label, l.body)), 0, label, l.body)
	return atom{h: h, draw: func(x, y float64) {
		text.draw(x, y+h-text.h)
		line := w - label
		if date {
			line -= dateW + sep
			l.rule(x+w-dateW, y+h-0.8, dateW, 0.2, Ink)
		}
		l.rule(x+label, y+h-0.8, line, 0.2, Ink)
	}}
}

func (s Line) draw(l *layout, x, y, scale float64) {
	l.stroke(s.Width*scale, s.Tone, s.Dashed)
	for i := 1; i < len(s.Points); i++ {
		a, b := s.Points[i-1], s.Points[i]
		l.pdf.Line(x+a.X*scale, y+a.Y*scale, x+b.X*scale, y+b.Y*scale)
	}
	l.pdf.SetDashPattern(nil, 0)
}

func (s Area) draw(l *layout, x, y, scale float64) {
	l.fill(s.Tone)
	l.pdf.Polygon(pdfPoints(s.Points, x, y, scale), "F")
}

func (s Dot) draw(l *layout, x, y, scale float64) {
	l.fill(s.Tone)
	l.pdf.Circle(x+s.At.X*scale, y+s.At.Y*scale, s.R*scale, "F")
}

func (s Label) draw(l *layout, x, y, scale float64) {
	f := face{s.Size * scale / pointMM, s.Bold, s.Tone}
	text := visible(l.cut(s.Text, s.Max*scale, f))
	w := l.width(text, f)
	x += s.At.X * scale
	switch s.Align {
	case Middle:
		x -= w / 2
	case Right:
		x -= w
	}
	l.write(text, x, y+s.At.Y*scale, s.Max*scale, f)
}

func pdfPoints(points []Point, x, y, scale float64) []fpdf.PointType {
	list := make([]fpdf.PointType, len(points))
	for i, p := range points {
		list[i] = fpdf.PointType{X: x + p.X*scale, Y: y + p.Y*scale}
	}
	return list
}
