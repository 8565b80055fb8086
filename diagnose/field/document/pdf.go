package document

import (
	"bytes"
	"fmt"

	"codeberg.org/go-pdf/fpdf"

	"ampwalk/diagnose/base/plaintext"
)

// Sizes of a page [mm].
const (
	margin    = 12.0
	footRoom  = 9.0 // below the text, for the foot
	between   = 6.0 // two columns
	afterHead = 0.6
)

// face is how letters look.
type face struct {
	size float64 // [pt]
	bold bool
	tone Tone
}

// A look is the faces and distances of a document.
type look struct {
	title, heading, body, small, verdict face
	leading                              float64 // of the letters' height
	section                              float64 // room above a heading [mm]
	columns                              int
}

var (
	usual = look{
		title: face{15, true, Ink}, heading: face{8.6, true, Accent}, body: face{7.6, false, Ink},
		small: face{7, false, Quiet}, verdict: face{10.5, true, Ink}, leading: 1.22, section: 2, columns: 2,
	}
	large = look{
		title: face{17, true, Ink}, heading: face{11.5, true, Accent}, body: face{9.8, false, Ink},
		small: face{9, false, Quiet}, verdict: face{11.5, true, Ink}, leading: 1.25, section: 2.6, columns: 1,
	}
)

const pointMM = 25.4 / 72 // of one point

func (f face) height(l *layout) float64 { return f.size * pointMM * l.leading }

// An atom is the smallest piece of a page: a line, a row, a picture.
type atom struct {
	h     float64
	draw  func(x, y float64) // at its upper left corner
	keep  bool               // with what follows it
	head  *atom              // said again where a table goes on in another column
	heads bool               // is such a head
	open  bool               // begins a section
}

// layout is a PDF under way.
type layout struct {
	look
	grey  bool
	pdf   *fpdf.Fpdf
	paper Paper
	boxes func(text string, x, y, w, limit float64) // told of every text drawn, for tests
}

// PDF is the document on paper of that size, with its fonts inside.
func (d Document) PDF(paper Paper) ([]byte, error) {
	l, _ := d.layout(paper)
	pages := l.flow(d)
	for n, p := range pages {
		l.pdf.AddPage()
		for _, a := range p {
			a.draw()
		}
		l.foot(d.Foot, n+1, len(pages))
	}
	var out bytes.Buffer
	if err := l.pdf.Output(&out); err != nil {
		return nil, fmt.Errorf(words().NoPdf, err)
	}
	return out.Bytes(), nil
}

const family = "dejavu"

// scales are how large the letters of a large document are, so that it fits on one
// sheet if it can; the least are as small as in any other.
var scales = []float64{1, 0.94, 0.88, 0.83, 0.78}

// layout is of the largest letters that fit; scale says how large they are.
func (d Document) layout(paper Paper) (l *layout, scale float64) {
	if !d.Large {
		return d.layoutIn(usual, paper), 1
	}
	for _, scale = range scales {
		l = d.layoutIn(large.times(scale), paper)
		if len(l.flow(d)) <= 1 {
			break
		}
	}
	return l, scale
}

// times is a look of larger or smaller letters.
func (k look) times(scale float64) look {
	for _, f := range []*face{&k.title, &k.heading, &k.body, &k.small, &k.verdict} {
		f.size *= scale
	}
	k.section *= scale
	return k
}

func (d Document) layoutIn(k look, paper Paper) *layout {
	l := &layout{look: k, paper: paper, grey: d.Grey, boxes: func(string, float64, float64, float64, float64) {}}
	p := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: paper.W, Ht: paper.H}})
	p.SetMargins(0, 0, 0)
	p.SetAutoPageBreak(false, 0)
	p.SetCatalogSort(true) // the same document gives the same bytes
	p.SetCreationDate(d.At)
	p.SetModificationDate(d.At)
	p.SetTitle(plaintext.Clean(d.Title), true)
	p.SetSubject(plaintext.Clean(d.Subject), true)
	p.SetAuthor(plaintext.Clean(d.Author), true)
	p.SetCreator("ampwalk", true)
	p.SetLang("en")
	p.AddUTF8FontFromBytes(family, "", plainFont())
	p.AddUTF8FontFromBytes(family, "B", boldFont())
	l.pdf = p
	return l
}

// set makes f the face of what is drawn next.
func (l *layout) set(f face) {
	style := ""
	if f.bold {
		style = "B"
	}
	l.pdf.SetFont(family, style, f.size)
	t := l.colour(f.tone)
	l.pdf.SetTextColor(t[0], t[1], t[2])
}

// colour is what a tone looks like: without colour the accent is black, the ground of what
// stands out a grey.
func (l *layout) colour(t Tone) [3]int {
	switch {
	case l.grey && t == Accent:
		t = Ink
	case l.grey && t == Faint:
		return [3]int{228, 228, 228}
	}
	return tones[t]
}

// width of a visible text in face f [mm].
func (l *layout) width(text string, f face) float64 {
	l.set(f)
	return l.pdf.GetStringWidth(text)
}

// write draws a visible text with its base line at y; limit is the room that it
// has to the right of x.
func (l *layout) write(text string, x, y, limit float64, f face) {
	l.set(f)
	l.boxes(text, x, y, l.pdf.GetStringWidth(text), limit)
	l.pdf.Text(x, y, text)
}

// line is an atom of one line of text.
func (l *layout) line(text string, indent, w float64, f face) atom {
	h := f.height(l)
	return atom{h: h, draw: func(x, y float64) {
		l.write(text, x+indent, y+h-0.28*f.size*pointMM, w-indent, f)
	}}
}

// lines are the atoms of a text as wide as w, its first line after first.
func (l *layout) lines(first, text string, indent, w float64, f face) []atom {
	var list []atom
	if first != "" {
		indent += l.width(first, f)
	}
	for i, s := range l.wrap(text, w-indent, f) {
		a := l.line(s, indent, w, f)
		if i == 0 && first != "" {
			mark, text := l.line(first, 0, w, f), a.draw
			at := indent - l.width(first, f)
			a.draw = func(x, y float64) { mark.draw(x+at, y); text(x, y) }
		}
		list = append(list, a)
	}
	return list
}

func (l *layout) gap(h float64) atom { return atom{h: h, draw: func(float64, float64) {}} }

func (l *layout) foot(text string, page, pages int) {
	f := usual.small
	y := l.paper.H - margin + 1
	number := fmt.Sprintf("Page %d of %d", page, pages)
	w := l.width(number, f)
	l.rule(margin, y-3.2, l.paper.W-2*margin, 0.15, Quiet)
	l.write(number, l.paper.W-margin-w, y, w, f)
	room := l.paper.W - 2*margin - w - 4
	l.write(visible(l.cut(text, room, f)), margin, y, room, f)
}

func (l *layout) rule(x, y, w, width float64, tone Tone) {
	l.stroke(width, tone, false)
	l.pdf.Line(x, y, x+w, y)
}

func (l *layout) stroke(width float64, tone Tone, dashed bool) {
	t := l.colour(tone)
	l.pdf.SetDrawColor(t[0], t[1], t[2])
	l.pdf.SetLineWidth(width)
	l.pdf.SetLineCapStyle("round")
	l.pdf.SetLineJoinStyle("round")
	l.pdf.SetDashPattern(nil, 0)
	if dashed {
		l.pdf.SetDashPattern([]float64{1, 1}, 0)
	}
}

func (l *layout) fill(tone Tone) {
	t := l.colour(tone)
	l.pdf.SetFillColor(t[0], t[1], t[2])
}
