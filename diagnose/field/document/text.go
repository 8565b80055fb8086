package document

import (
	"fmt"
	"math"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/base/plaintext"
)

// Width of the text for a printer [columns].
const Width = 80

// narrowest is the width at which a table of readings can still be read.
const narrowest = 48

// Text is the document as plain text, no line wider than [Width].
func (d Document) Text() string { return d.TextIn(Width) }

// TextIn is Text for a window: no line is wider than so many columns, if they are
// some fifty or more.
func (d Document) TextIn(columns int) string {
	p := printer{width: max(columns, narrowest)}
	if d.Title != "" {
		p.hanging("", strings.ToUpper(d.Title))
		p.line(strings.Repeat("=", p.width))
	}
	for _, s := range d.Sections {
		if len(s.Blocks) == 0 {
			continue
		}
		p.line("")
		p.hanging("", strings.ToUpper(s.Heading))
		for _, b := range s.Blocks {
			b.text(&p)
		}
	}
	if d.Foot != "" {
		p.line("")
		p.hanging("", d.Foot)
	}
	return p.String()
}

type printer struct {
	strings.Builder
	width int
}

func (p *printer) line(text string) {
	p.WriteString(strings.TrimRight(text, " "))
	p.WriteByte('\n')
}

// hanging writes text after first; its later lines stand under its beginning.
func (p *printer) hanging(first, text string) {
	w := ansi.StringWidth(first)
	for i, l := range plaintext.Wrap(text, p.width-w) {
		if i > 0 {
			first = strings.Repeat(" ", w)
		}
		p.line(first + l)
	}
}

func (b Paragraph) text(p *printer) { p.hanging("", string(b)) }

func (b Verdict) text(p *printer) { p.hanging("", string(b)) }

const nameWidth = 16 // of facts [columns]

func (b Facts) text(p *printer) {
	for _, f := range b {
		name := ansi.Truncate(plaintext.Clean(f.Name), nameWidth-2, "")
		p.hanging(pad(name, nameWidth), f.Value)
	}
}

func (b List) text(p *printer) {
	for i, it := range b.Items {
		mark := b.mark(i)
		p.hanging(mark, it.Text)
		for _, l := range it.Below {
			p.hanging(strings.Repeat(" ", len(mark)), l)
		}
	}
}

func (b List) mark(i int) string {
	if b.Numbered {
		return fmt.Sprintf("%d. ", i+1)
	}
	return "- "
}

func (b Picture) text(p *printer) {
	if b.Caption != "" {
		p.hanging("", b.Caption)
	}
	for _, w := range b.Words {
		p.hanging("- ", w)
	}
}

func (b Table) text(p *printer) {
	widths := b.widths(p.width)
	head := Row(b.Head...)
	p.row(head, widths)
	rules := make([]string, len(widths))
	for i, w := range widths {
		rules[i] = strings.Repeat("-", w)
	}
	p.row(Row(rules...), widths)
	for _, r := range b.Rows {
		p.row(r, widths)
	}
}

const (
	gap      = 2  // between columns of a table
	barWidth = 11 // of a drawn bar [columns]
)

func (c Cell) width() int {
	if c.Bar != nil {
		return barWidth
	}
	return ansi.StringWidth(plaintext.Clean(c.Text))
}

// text is the bar in characters: = for the range, x for what was found, on it or
// beside it.
func (b Bar) text() string {
	at := func(f float64) int { return int(math.Round(f * (barWidth - 1))) }
	line := []byte(strings.Repeat(".", barWidth))
	for _, p := range b.Pieces {
		for i := at(p[0]); i <= at(p[1]); i++ {
			line[i] = '='
		}
	}
	for _, x := range b.At {
		line[at(x)] = 'x'
	}
	return string(line)
}

// widths gives every column what its widest cell needs; where that is too
// much, the widest columns of texts give way.
func (b Table) widths(room int) []int {
	widths := make([]int, len(b.Head))
	bars := make([]bool, len(b.Head))
	total := -gap
	for _, row := range append([][]Cell{Row(b.Head...)}, b.Rows...) {
		for i, cell := range row {
			widths[i] = max(widths[i], cell.width())
			bars[i] = bars[i] || cell.Bar != nil
		}
	}
	for _, w := range widths {
		total += w + gap
	}
	for ; total > room; total-- {
		widest := -1
		for i, w := range widths {
			if !bars[i] && (widest < 0 || w > widths[widest]) {
				widest = i
			}
		}
		widths[widest]--
	}
	return widths
}

// row writes one row, each cell wrapped within its column.
func (p *printer) row(cells []Cell, widths []int) {
	columns := make([][]string, len(cells))
	rows := 0
	for i, c := range cells {
		columns[i] = plaintext.Wrap(c.Text, widths[i])
		if c.Bar != nil {
			columns[i] = []string{c.Bar.text()}
		}
		rows = max(rows, len(columns[i]))
	}
	for y := range rows {
		var line strings.Builder
		for i, col := range columns {
			text := ""
			if y < len(col) {
				text = strings.TrimRight(col[y], " ")
			}
			line.WriteString(pad(text, widths[i]+gap))
		}
		p.line(line.String())
	}
}

func (b Signatures) text(p *printer) {
	for _, who := range b {
		p.line("")
		p.line(pad(ansi.Truncate(plaintext.Clean(who), 23, ""), 24) + strings.Repeat("_", (p.width-26)*34/54) + "  " + strings.Repeat("_", (p.width-26)*20/54))
	}
}

func (b Blanks) text(p *printer) {
	for _, what := range b {
		p.line("")
		p.line(pad(ansi.Truncate(plaintext.Clean(what), 23, ""), 24) + strings.Repeat("_", p.width-24))
	}
}

func pad(text string, w int) string {
	return text + strings.Repeat(" ", max(0, w-ansi.StringWidth(text)))
}
