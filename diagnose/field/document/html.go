package document

import (
	_ "embed"
	"fmt"
	"html/template"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"ampwalk/diagnose/base/plaintext"
)

//go:embed page.css
var style string

//go:embed page.html
var pageFile string

// A piece is a part of a page: the template that writes it, and what it writes.
type piece struct {
	template string
	data     any
}

var pages = sync.OnceValue(func() *template.Template {
	t := template.New("")
	show := func(p piece) (template.HTML, error) {
		var b strings.Builder
		err := t.ExecuteTemplate(&b, p.template, p.data)
		return template.HTML(b.String()), err // escaped by its own template
	}
	return template.Must(t.Funcs(template.FuncMap{
		"show": show, "clean": plaintext.Clean, "unbroken": plaintext.Unbroken,
		"fixed": fixed, "points": svgPoints, "colour": colour,
	}).Parse(pageFile)) // the file is part of the program
})

// A page is a document as its template takes it.
type page struct {
	Title, Foot string
	Meta        []Fact
	Style       template.CSS
	FootInCSS   template.CSS
	Paper       Paper
	Large       bool
	LargePt     float64 // of its letters in print, 0 for the usual
	Runs        []run
}

// A run is sections one after the other that are in columns, or not.
type run struct {
	Narrow   bool
	Sections []shownSection
}

type shownSection struct {
	Heading string
	Fine    bool
	Pieces  []piece
}

// HTML is the document as one HTML file that needs nothing else and prints on
// paper of that size. It has no script, and forbids whatever would fetch or run.
func (d Document) HTML(paper Paper) string {
	l, scale := d.layout(paper)
	p := page{
		Title: d.Title, Foot: d.Foot, Style: template.CSS(style), FootInCSS: cssText(d.Foot), Paper: paper, Large: d.Large,
		Meta: []Fact{{"author", d.Author}, {"description", d.Subject}, {"generator", "ampwalk"}},
	}
	if d.Grey {
		p.Style = template.CSS(withoutColour.Replace(style))
	}
	if scale < 1 {
		p.LargePt = large.body.size * scale
	}
	for _, s := range d.Sections {
		if len(s.Blocks) == 0 {
			continue
		}
		narrow := !s.Wide && !d.Large
		if n := len(p.Runs); n == 0 || p.Runs[n-1].Narrow != narrow {
			p.Runs = append(p.Runs, run{Narrow: narrow})
		}
		shown := shownSection{Heading: s.Heading, Fine: s.Fine}
		for _, b := range s.Blocks {
			shown.Pieces = append(shown.Pieces, b.html(l))
		}
		last := &p.Runs[len(p.Runs)-1]
		last.Sections = append(last.Sections, shown)
	}
	var b strings.Builder
	if err := pages().ExecuteTemplate(&b, "page", p); err != nil {
		panic("document: page.html: " + err.Error()) // the file is part of the program
	}
	return b.String()
}

// cssText is a text in quotes as a style sheet inside an element takes it. The template
// would take such a text for an address, and leave out one with a colon.
func cssText(text string) template.CSS {
	var b strings.Builder
	for _, r := range plaintext.Clean(text) {
		if strings.ContainsRune(`"\<>&'`, r) {
			fmt.Fprintf(&b, `\%06x`, r)
			continue
		}
		b.WriteRune(r)
	}
	return template.CSS(`"` + b.String() + `"`)
}

func (b Paragraph) html(*layout) piece { return piece{"paragraph", string(b)} }

func (b Verdict) html(*layout) piece { return piece{"verdict", string(b)} }

func (b Facts) html(*layout) piece { return piece{"facts", b} }

func (b List) html(*layout) piece {
	if b.Numbered {
		return piece{"numbers", b.Items}
	}
	return piece{"bullets", b.Items}
}

// shortText is up to how many letters a cell is not broken: a day, a number.
const shortText = len(time.DateOnly)

type shownCell struct {
	Text, Class string
	Bar         *piece
}

func (b Table) html(l *layout) piece {
	var rows [][]shownCell
	for _, r := range b.Rows {
		var row []shownCell
		for _, c := range r {
			row = append(row, c.html(l))
		}
		rows = append(rows, row)
	}
	return piece{"table", struct {
		Head []string
		Rows [][]shownCell
	}{b.Head, rows}}
}

func (c Cell) html(l *layout) shownCell {
	if c.Bar != nil {
		bar := c.Bar.html(l)
		return shownCell{Bar: &bar}
	}
	var classes []string
	if c.Strong {
		classes = append(classes, "strong")
	}
	if utf8.RuneCountInString(c.Text) <= shortText {
		classes = append(classes, "short")
	}
	return shownCell{Text: c.Text, Class: strings.Join(classes, " ")}
}

func (b Bar) html(l *layout) piece {
	const w, h, mid = barMM, 3.2, 1.6
	var d Drawing
	d.W, d.H = w, h
	d.Add(Line{[]Point{{0, mid}, {w, mid}}, 0.15, Quiet, false})
	for _, p := range b.Pieces {
		lo, wide := p[0]*w, max(0.5, (p[1]-p[0])*w)
		d.Add(Area{Rect(lo, mid-0.95, wide, 1.9), Faint}, Frame(lo, mid-0.95, wide, 1.9, 0.2, Accent))
	}
	for _, at := range b.At {
		d.Add(Line{[]Point{{at * w, mid - 1.4}, {at * w, mid + 1.4}}, 0.55, Ink, false})
	}
	return d.svg(l, "")
}

func (b Picture) html(l *layout) piece {
	return piece{"picture", struct {
		Drawing piece
		Caption string
	}{b.Drawing.svg(l, strings.Join(b.Words, " ")), b.Caption}}
}

func (b Signatures) html(*layout) piece { return piece{"signatures", b} }

func (b Blanks) html(*layout) piece { return piece{"blanks", b} }

// svg is the drawing, told in words to those who do not see it.
func (d Drawing) svg(l *layout, words string) piece {
	var shapes []piece
	for _, s := range d.Shapes {
		shapes = append(shapes, s.svg(l))
	}
	return piece{"drawing", struct {
		W, H   float64
		Words  string
		Shapes []piece
	}{d.W, d.H, words, shapes}}
}

func fixed(x float64) string { return fmt.Sprintf("%.2f", x) }

// withoutColour turns the colours of page.css into black and grey, as on paper.
var withoutColour = strings.NewReplacer("#14468c", "#000000", "#dee2e8", "#e4e4e4")

func colour(t Tone) string {
	c := tones[t]
	return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2])
}

func svgPoints(points []Point) string {
	list := make([]string, len(points))
	for i, q := range points {
		list[i] = fixed(q.X) + "," + fixed(q.Y)
	}
	return strings.Join(list, " ")
}

func (s Line) svg(*layout) piece { return piece{"line", s} }

func (s Area) svg(*layout) piece { return piece{"area", s} }

func (s Dot) svg(*layout) piece { return piece{"dot", s} }

// svg sets the text as wide as it is on paper, whatever fonts are there.
func (s Label) svg(l *layout) piece {
	f := face{s.Size / pointMM, s.Bold, s.Tone}
	text := l.cut(s.Text, s.Max, f)
	return piece{"label", struct {
		Label
		Text, Anchor string
		Width        float64
	}{s, text, map[Align]string{Left: "start", Middle: "middle", Right: "end"}[s.Align], l.width(visible(text), f)}}
}
