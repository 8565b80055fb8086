package document

import (
	_ "embed"
	"fmt"
	"html"
	"strings"
	"time"
	"unicode/utf8"

	"ampwalk/diagnose/printable"
)

//go:embed page.css
var style string

// HTML is the document as one HTML file that needs nothing else and prints on
// paper of that size. It has no script, and forbids whatever would fetch or run.
func (d Document) HTML(paper Paper) string {
	l, scale := d.layout(paper)
	p := page{paper: l}
	p.raw("<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n")
	p.raw(`<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">` + "\n")
	p.raw(`<meta name="viewport" content="width=device-width, initial-scale=1">` + "\n")
	p.element("title", "", d.Title)
	for _, m := range []Fact{{"author", d.Author}, {"description", d.Subject}, {"generator", "ampwalk"}} {
		if m.Value != "" {
			p.rawf("<meta name=\"%s\" content=\"%s\">\n", m.Name, escape(m.Value))
		}
	}
	p.raw("<style>\n" + style)
	p.rawf("@page { size: %gmm %gmm; @bottom-left { content: \"%s\" } }\n", paper.W, paper.H, cssText(d.Foot))
	if scale < 1 {
		p.rawf("@media print { body.large { font-size: %.2fpt } }\n", large.body.size*scale)
	}
	p.raw("</style>\n</head>\n")
	class := "usual"
	if d.Large {
		class = "large"
	}
	p.rawf("<body class=\"%s\">\n", class)
	p.element("h1", "", d.Title)
	open := false // a run of narrow sections
	for _, s := range d.Sections {
		if len(s.Blocks) == 0 {
			continue
		}
		if narrow := !s.Wide && !d.Large; narrow != open {
			if open {
				p.raw("</div>\n")
			} else {
				p.raw("<div class=\"columns\">\n")
			}
			open = narrow
		}
		if s.Fine {
			p.raw("<section class=\"fine\">\n")
		} else {
			p.raw("<section>\n")
		}
		p.element("h2", "", s.Heading)
		for _, b := range s.Blocks {
			b.html(&p)
		}
		p.raw("</section>\n")
	}
	if open {
		p.raw("</div>\n")
	}
	if d.Foot != "" {
		p.element("footer", "", d.Foot)
	}
	p.raw("</body>\n</html>\n")
	return p.String()
}

// page is HTML under way.
type page struct {
	strings.Builder
	paper *layout // measures texts in drawings
}

func (p *page) raw(text string) { p.WriteString(text) }

func (p *page) rawf(format string, args ...any) { fmt.Fprintf(p, format, args...) }

// escape is a text that is only text, in an element and in an attribute.
func escape(text string) string { return html.EscapeString(printable.Clean(text)) }

// cssText is a text within the quotes of a style sheet inside an element.
func cssText(text string) string {
	var b strings.Builder
	for _, r := range printable.Clean(text) {
		if strings.ContainsRune(`"\<>&'`, r) {
			fmt.Fprintf(&b, `\%06x`, r)
			continue
		}
		b.WriteRune(r)
	}
	return b.String()
}

// element is one element of text; its direction is that of its first letter.
func (p *page) element(name, class, text string) {
	if class != "" {
		class = ` class="` + class + `"`
	}
	if name != "title" {
		class += ` dir="auto"`
	}
	p.rawf("<%s%s>%s</%s>\n", name, class, unbroken(text), name)
}

// unbroken is an escaped text whose quantities do not come apart.
func unbroken(text string) string { return html.EscapeString(printable.Unbroken(text)) }

func (b Paragraph) html(p *page) { p.element("p", "", string(b)) }

func (b Verdict) html(p *page) { p.element("p", "verdict", string(b)) }

func (b Facts) html(p *page) {
	p.raw("<dl>\n")
	for _, f := range b {
		p.element("dt", "", f.Name)
		p.element("dd", "", f.Value)
	}
	p.raw("</dl>\n")
}

func (b List) html(p *page) {
	name := "ul"
	if b.Numbered {
		name = "ol"
	}
	p.rawf("<%s>\n", name)
	for _, it := range b.Items {
		p.rawf("<li dir=\"auto\">%s\n", unbroken(it.Text))
		for _, t := range it.Below {
			p.element("p", "below", t)
		}
		p.raw("</li>\n")
	}
	p.rawf("</%s>\n", name)
}

// shortText is up to how many letters a cell is not broken: a day, a number.
const shortText = len(time.DateOnly)

func (b Table) html(p *page) {
	p.raw("<table>\n<thead><tr>\n")
	for _, h := range b.Head {
		p.element("th", "", h)
	}
	p.raw("</tr></thead>\n<tbody>\n")
	for _, r := range b.Rows {
		p.raw("<tr>\n")
		for _, c := range r {
			if c.Bar != nil {
				p.raw("<td>")
				c.Bar.html(p)
				p.raw("</td>\n")
				continue
			}
			var classes []string
			if c.Strong {
				classes = append(classes, "strong")
			}
			if utf8.RuneCountInString(c.Text) <= shortText {
				classes = append(classes, "short")
			}
			p.element("td", strings.Join(classes, " "), c.Text)
		}
		p.raw("</tr>\n")
	}
	p.raw("</tbody>\n</table>\n")
}

func (b Bar) html(p *page) {
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
	d.svg(p, "")
}

func (b Picture) html(p *page) {
	p.raw("<figure>\n")
	b.Drawing.svg(p, strings.Join(b.Words, " "))
	if b.Caption != "" {
		p.element("figcaption", "", b.Caption)
	}
	p.raw("</figure>\n")
}

// svg is the drawing, told in words to those who do not see it.
func (d Drawing) svg(p *page, words string) {
	p.rawf(`<svg viewBox="0 0 %.2f %.2f" style="width:%.2fmm" role="img"`, d.W, d.H, d.W)
	if words == "" {
		p.raw(` aria-hidden="true">`)
	} else {
		p.rawf(` aria-label="%s">`, escape(words))
	}
	for _, s := range d.Shapes {
		s.svg(p)
	}
	p.raw("</svg>\n")
}

func (b Signatures) html(p *page) {
	for _, who := range b {
		p.rawf("<div class=\"sign\"><span dir=\"auto\">%s</span><i></i><i></i></div>\n", escape(who))
	}
}

func (b Blanks) html(p *page) {
	for _, what := range b {
		p.rawf("<div class=\"sign\"><span dir=\"auto\">%s</span><i></i></div>\n", escape(what))
	}
}

func colour(t Tone) string {
	c := tones[t]
	return fmt.Sprintf("#%02x%02x%02x", c[0], c[1], c[2])
}

func svgPoints(points []Point) string {
	list := make([]string, len(points))
	for i, q := range points {
		list[i] = fmt.Sprintf("%.2f,%.2f", q.X, q.Y)
	}
	return strings.Join(list, " ")
}

func (s Line) svg(p *page) {
	dash := ""
	if s.Dashed {
		dash = ` stroke-dasharray="1 1"`
	}
	p.rawf(`<polyline points="%s" fill="none" stroke="%s" stroke-width="%.2f" stroke-linejoin="round"%s/>`,
		svgPoints(s.Points), colour(s.Tone), s.Width, dash)
}

func (s Area) svg(p *page) {
	p.rawf(`<polygon points="%s" fill="%s"/>`, svgPoints(s.Points), colour(s.Tone))
}

func (s Dot) svg(p *page) {
	p.rawf(`<circle cx="%.2f" cy="%.2f" r="%.2f" fill="%s"/>`, s.At.X, s.At.Y, s.R, colour(s.Tone))
}

// svg sets the text as wide as it is on paper, whatever fonts are there.
func (s Label) svg(p *page) {
	l := p.paper
	f := face{s.Size / pointMM, s.Bold, s.Tone}
	text := l.cut(s.Text, s.Max, f)
	size := ""
	if w := l.width(visible(text), f); w > 0 {
		size = fmt.Sprintf(` textLength="%.2f" lengthAdjust="spacingAndGlyphs"`, w)
	}
	weight := ""
	if s.Bold {
		weight = ` font-weight="bold"`
	}
	anchor := map[Align]string{Left: "start", Middle: "middle", Right: "end"}[s.Align]
	p.rawf(`<text x="%.2f" y="%.2f" font-size="%.2f" text-anchor="%s" fill="%s"%s%s>%s</text>`,
		s.At.X, s.At.Y, s.Size, anchor, colour(s.Tone), weight, size, html.EscapeString(text))
}
