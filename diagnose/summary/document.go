// Package summary makes the printable summary of a visit: one document model,
// written as plain text of 80 columns that any printer prints.
//
// Start with [OfVisit], [OfReadings] and [Document.Text].
package summary

import (
	"fmt"
	"regexp"
	"strings"

	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/printable"
)

// A Document is a title and sections, without any layout.
type Document struct {
	Title    string
	Sections []Section
}

// A Section is a heading and blocks under it.
type Section struct {
	Heading string
	Blocks  []Block
}

// A Block is one of [Paragraph], [Facts], [List], [Table] and [Signatures].
type Block interface {
	text(p *printer)
}

// A Paragraph is one or more sentences.
type Paragraph string

// Facts are names with their values.
type Facts []Fact

// A Fact is a name with its value.
type Fact struct{ Name, Value string }

// A List has items, numbered or not.
type List struct {
	Numbered bool
	Items    []Item
}

// An Item of a list may have lines of its own below it.
type Item struct {
	Text  string
	Below []string
}

// A Table has a head and rows of as many cells.
type Table struct {
	Head []string
	Rows [][]string
}

// Signatures are the lines to sign on, by who signs.
type Signatures []string

// Width of the text [columns].
const Width = 80

// Text is the document as plain text, no line wider than [Width].
func (d Document) Text() string {
	var p printer
	p.hanging("", strings.ToUpper(d.Title))
	p.line(strings.Repeat("=", Width))
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
	return p.String()
}

type printer struct{ strings.Builder }

func (p *printer) line(text string) {
	p.WriteString(strings.TrimRight(text, " "))
	p.WriteByte('\n')
}

// hanging writes text after first; its later lines stand under its beginning.
func (p *printer) hanging(first, text string) {
	w := ansi.StringWidth(first)
	for i, l := range wrap(text, Width-w) {
		if i > 0 {
			first = strings.Repeat(" ", w)
		}
		p.line(first + l)
	}
}

// quantities are a number and its unit, which stay on one line.
var quantities = regexp.MustCompile(`([0-9]) (V|A|Ah|W|W/m2|°C|%|min|h|hours?|days)`)

// wrap breaks text into lines of at most w columns; there is always one.
func wrap(text string, w int) []string {
	const together = "\u00a0" // printable.Clean leaves none of its own
	text = quantities.ReplaceAllString(strings.TrimSpace(printable.Clean(text)), "$1"+together+"$2")
	return strings.Split(strings.ReplaceAll(ansi.Wrap(text, w, ""), together, " "), "\n")
}

func (b Paragraph) text(p *printer) { p.hanging("", string(b)) }

const nameWidth = 16 // of facts [columns]

func (b Facts) text(p *printer) {
	for _, f := range b {
		name := ansi.Truncate(printable.Clean(f.Name), nameWidth-2, "")
		p.hanging(pad(name, nameWidth), f.Value)
	}
}

func (b List) text(p *printer) {
	for i, it := range b.Items {
		mark := "- "
		if b.Numbered {
			mark = fmt.Sprintf("%d. ", i+1)
		}
		p.hanging(mark, it.Text)
		for _, l := range it.Below {
			p.hanging(strings.Repeat(" ", len(mark)), l)
		}
	}
}

func (b Table) text(p *printer) {
	widths := b.widths()
	p.row(b.Head, widths)
	rules := make([]string, len(widths))
	for i, w := range widths {
		rules[i] = strings.Repeat("-", w)
	}
	p.row(rules, widths)
	for _, r := range b.Rows {
		p.row(r, widths)
	}
}

const gap = 2 // between columns of a table

// widths gives every column what its widest cell needs; where that is too
// much, the widest columns give way.
func (b Table) widths() []int {
	widths := make([]int, len(b.Head))
	total := -gap
	for _, row := range append([][]string{b.Head}, b.Rows...) {
		for i, cell := range row {
			widths[i] = max(widths[i], ansi.StringWidth(printable.Clean(cell)))
		}
	}
	for _, w := range widths {
		total += w + gap
	}
	for ; total > Width; total-- {
		widest := 0
		for i, w := range widths {
			if w > widths[widest] {
				widest = i
			}
		}
		widths[widest]--
	}
	return widths
}

// row writes one row, each cell wrapped within its column.
func (p *printer) row(cells []string, widths []int) {
	columns := make([][]string, len(cells))
	rows := 0
	for i, c := range cells {
		columns[i] = wrap(c, widths[i])
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
		p.line(pad(ansi.Truncate(printable.Clean(who), 23, ""), 24) + strings.Repeat("_", 34) + "  " + strings.Repeat("_", 20))
	}
}

func pad(text string, w int) string {
	return text + strings.Repeat(" ", max(0, w-ansi.StringWidth(text)))
}
