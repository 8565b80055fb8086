package main

import (
	"encoding/xml"
	"fmt"
	"iter"
	"strconv"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The size of a cell of a picture, and where letters stand in it [px].
const (
	cellW, cellH = 8.4, 17
	overlap      = 0.4 // of grounds, so that no seam shows
	baseline     = 13
	margin       = 10
)

// A look is how a run of cells is drawn.
type look struct {
	ink, ground   string
	bold, reverse bool
	underline     bool
}

var ordinaryLook = look{ink: "#e6e6e6", ground: "#101418"}

// sixteen are the first eight colours of a terminal, then their bright ones: a
// choice that can be read in a picture.
var sixteen = [16]string{
	"#000000", "#e05050", "#50b050", "#c0a030", "#5080e0", "#d070d0", "#40b0b0", "#c8c8c8",
	"#707070", "#ff7070", "#70e070", "#f0d060", "#80a8ff", "#ff90ff", "#70e0e0", "#ffffff",
}

// selectGraphic applies the parameters of one SGR sequence (ECMA-48, 8.3.117).
func (l look) selectGraphic(params string) look {
	p := strings.FieldsFunc(params, func(r rune) bool { return r == ';' || r == ':' })
	if len(p) == 0 {
		return ordinaryLook
	}
	for i := 0; i < len(p); i++ {
		n, _ := strconv.Atoi(p[i])
		colour := func() string { // what follows 38 or 48
			switch {
			case i+2 < len(p) && p[i+1] == "5":
				c, _ := strconv.Atoi(p[i+2])
				i += 2
				return indexed(c)
			case i+4 < len(p) && p[i+1] == "2":
				r, _ := strconv.Atoi(p[i+2])
				g, _ := strconv.Atoi(p[i+3])
				b, _ := strconv.Atoi(p[i+4])
				i += 4
				return fmt.Sprintf("#%02x%02x%02x", r, g, b)
			}
			return ""
		}
		switch {
		case n == 0:
			l = ordinaryLook
		case n == 1:
			l.bold = true
		case n == 4:
			l.underline = true
		case n == 7:
			l.reverse = true
		case n >= 30 && n <= 37:
			l.ink = sixteen[n-30]
		case n >= 90 && n <= 97:
			l.ink = sixteen[n-90+8]
		case n >= 40 && n <= 47:
			l.ground = sixteen[n-40]
		case n >= 100 && n <= 107:
			l.ground = sixteen[n-100+8]
		case n == 38:
			l.ink = colour()
		case n == 48:
			l.ground = colour()
		case n == 39:
			l.ink = ordinaryLook.ink
		case n == 49:
			l.ground = ordinaryLook.ground
		}
	}
	return l
}

// indexed is a colour of the 256: the 16, a cube of 6 x 6 x 6, greys.
func indexed(c int) string {
	switch {
	case c < 16:
		return sixteen[c]
	case c >= 232:
		g := 8 + 10*(c-232)
		return fmt.Sprintf("#%02x%02x%02x", g, g, g)
	}
	step := func(n int) int {
		if n == 0 {
			return 0
		}
		return 55 + 40*n
	}
	c -= 16
	return fmt.Sprintf("#%02x%02x%02x", step(c/36), step(c/6%6), step(c%6))
}

// svg draws a screen with its escape codes, as the terminal gives it, in w
// columns and h rows.
func svg(screen, title string, w, h int) string {
	var b strings.Builder
	width, height := float64(w)*cellW+2*margin, float64(h*cellH+2*margin)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %.0f %.0f" role="img" aria-label="%s">`+"\n", width, height, escaped(title))
	fmt.Fprintf(&b, `<rect width="100%%" height="100%%" rx="6" fill="%s"/>`+"\n", ordinaryLook.ground)
	fmt.Fprintf(&b, `<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="14" xml:space="preserve">`+"\n")
	now := ordinaryLook
	for y, line := range strings.Split(screen, "\n") {
		x := 0
		for i, piece := range strings.Split(line, "\x1b[") {
			if i > 0 {
				params, text, _ := strings.Cut(piece, "m")
				now, piece = now.selectGraphic(params), text
			}
			x += now.draw(&b, piece, x, y)
		}
	}
	b.WriteString("</g>\n</svg>\n")
	return b.String()
}

// draw draws text from column x of row y and gives its width in columns.
func (l look) draw(b *strings.Builder, text string, x, y int) int {
	n := ansi.StringWidth(text)
	ink, ground := l.ink, l.ground
	if l.reverse {
		ink, ground = ground, ink
	}
	left, top := margin+float64(x)*cellW, margin+y*cellH
	if ground != ordinaryLook.ground && n > 0 {
		fmt.Fprintf(b, `<rect x="%.1f" y="%d" width="%.1f" height="%.1f" fill="%s"/>`+"\n", left, top, float64(n)*cellW+overlap, cellH+overlap, ground)
	}
	style := ""
	if l.bold {
		style += ` font-weight="bold"`
	}
	if l.underline {
		style += ` text-decoration="underline"`
	}
	// Each piece between gaps has its own place and length, which hold the columns
	// whatever font the reader has.
	for at, piece := range pieces(text) {
		place := fmt.Sprintf(`x="%.1f"`, left+float64(at)*cellW)
		if strings.ContainsFunc(piece, braille) { // seldom in a font of fixed width: each in its cell
			columns := make([]string, 0, len(piece))
			for i := range []rune(piece) {
				columns = append(columns, fmt.Sprintf("%.1f", left+float64(at+i)*cellW))
			}
			place = `x="` + strings.Join(columns, " ") + `"`
		} else {
			place += fmt.Sprintf(` textLength="%.1f" lengthAdjust="spacingAndGlyphs"`, float64(ansi.StringWidth(piece))*cellW)
		}
		fmt.Fprintf(b, `<text %s y="%d" fill="%s"%s>%s</text>`+"\n", place, top+baseline, ink, style, strings.ReplaceAll(escaped(piece), " ", "&#160;"))
	}
	return n
}

func braille(r rune) bool { return r >= 0x2800 && r <= 0x28ff }

// pieces are the parts of text with more than one blank between them, each with
// its column.
func pieces(text string) iter.Seq2[int, string] {
	return func(yield func(int, string) bool) {
		at := 0
		for text != "" {
			piece, rest, _ := strings.Cut(text, "  ")
			if strings.TrimSpace(piece) != "" && !yield(at, piece) {
				return
			}
			if len(piece)+2 > len(text) {
				return
			}
			at += ansi.StringWidth(piece) + 2
			text = rest
		}
	}
}

func escaped(text string) string {
	var b strings.Builder
	_ = xml.EscapeText(&b, []byte(text)) // a builder takes everything
	return b.String()
}

// inPicture is the text of a picture, line by line, as it was drawn.
func inPicture(t *testing.T, picture string) string {
	t.Helper()
	var b strings.Builder
	d := xml.NewDecoder(strings.NewReader(picture))
	row := ""
	for {
		token, err := d.Token()
		if err != nil {
			require.ErrorContains(t, err, "EOF", "the picture is well-formed")
			return b.String()
		}
		switch token := token.(type) {
		case xml.StartElement:
			for _, a := range token.Attr {
				switch {
				case token.Name.Local != "text" || a.Name.Local != "y":
				case a.Value == row:
					b.WriteByte(' ')
				default:
					row = a.Value
					b.WriteByte('\n')
				}
			}
		case xml.CharData:
			b.WriteString(strings.ReplaceAll(strings.TrimSuffix(string(token), "\n"), "\u00a0", " "))
		}
	}
}

func TestSVG(t *testing.T) {
	got := svg("plain \x1b[1;31mred & bold\x1b[0m\n\x1b[7mother way\x1b[0m round \x1b[38;5;16;48;2;255;255;255mink", "a picture", 30, 2)
	assert.Equal(t, "\nplain  red & bold\nother way  round  ink", inPicture(t, got))
	assert.Contains(t, got, `fill="`+sixteen[1]+`" font-weight="bold">red`)
	assert.Contains(t, got, `height="17.4" fill="#ffffff"/>`)
	assert.Contains(t, got, fmt.Sprintf(`fill="%s">other`, ordinaryLook.ground))
}
