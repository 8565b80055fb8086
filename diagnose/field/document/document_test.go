package document

import (
	"strings"
	"testing"
	"time"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
)

// sample has every block, with the texts given.
func sample(text func(name string) string) Document {
	d := Drawing{W: 80, H: 20}
	d.Add(
		Line{[]Point{{0, 0}, {80, 20}}, 0.3, Ink, true}, Area{Rect(5, 5, 20, 8), Faint}, Dot{Point{40, 10}, 1, Accent},
		Label{Point{2, 18}, text("label"), 2.6, Left, 30, Ink, false}, Label{Point{78, 18}, text("right"), 2.6, Right, 30, Quiet, true},
		Label{Point{40, 4}, text("middle"), 2.6, Middle, 20, Accent, false},
	)
	bar := Cell{Bar: &Bar{Pieces: [][2]float64{{0.3, 0.6}}, At: []float64{0, 0.45, 1}}}
	blocks := []Block{
		Verdict(text("verdict")), Paragraph(text("paragraph")),
		Facts{{text("name"), text("value")}},
		List{true, []Item{{text("item"), []string{text("below")}}, {text("item two"), nil}}},
		List{false, []Item{{text("plain item"), nil}}},
		Table{[]string{"A", "B", "Range", "C"}, [][]Cell{{{Text: text("a")}, {Text: text("b"), Strong: true}, bar, {Text: text("c")}}}},
		Picture{d, text("caption"), []string{text("words")}},
		Signatures{text("who")}, Blanks{text("what")},
	}
	return Document{
		Title: text("title"), Subject: text("subject"), Author: text("author"), Foot: text("foot"),
		At:       time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC),
		Sections: []Section{{text("heading"), blocks, true, false}, {text("narrow"), blocks, false, true}, {text("again"), blocks, false, false}},
	}
}

// anyText is what people and files may say.
func anyText() *rapid.Generator[string] {
	return rapid.OneOf(rapid.String(), rapid.StringMatching(`[a-z]{100,200}`), rapid.StringMatching(`[a-z]{1,9} [0-9]{20,100} V`), rapid.Just("\x1b]0;x\x07\x1b[2J\u202e الضوء على اللوح "),
		rapid.Just(`</style></svg><script>alert(1)</script><img src=x onerror="x">"'&`), rapid.Just("Muoshe kwa maji safi; l'été où le câble a brûlé — naïf"))
}

// Whatever people and files say, every line fits and nothing acts on a terminal.
func TestAnyTextFits(t *testing.T) {
	text := anyText()
	rapid.Check(t, func(t *rapid.T) {
		got := sample(func(name string) string { return text.Draw(t, name) }).Text()
		for _, l := range strings.Split(got, "\n") {
			require.LessOrEqual(t, ansi.StringWidth(l), Width, l)
			require.Equal(t, strings.TrimRight(l, " "), l)
		}
		for _, r := range got {
			require.False(t, r != '\n' && (r < ' ' || r >= 0x7f && r < 0xa0) || r == '\u202e', "%q", r)
		}
	})
}

// Whatever they say, on paper every text stays within its box and on the page,
// and large and small print break no rule.
func TestAnyTextFitsOnPaper(t *testing.T) {
	text := anyText()
	rapid.Check(t, func(t *rapid.T) {
		d := sample(func(name string) string { return text.Draw(t, name) })
		d.Large = rapid.Bool().Draw(t, "large")
		inBoxes(t, d, rapid.SampledFrom([]Paper{A4, Letter}).Draw(t, "paper"))
	})
}

// inBoxes draws d and checks where every text goes; it gives the number of pages.
func inBoxes(t require.TestingT, d Document, paper Paper) int {
	l, _ := d.layout(paper)
	texts := 0
	l.boxes = func(text string, x, y, w, limit float64) {
		texts++
		require.LessOrEqual(t, w, limit+0.01, "%q is too wide", text)
		require.GreaterOrEqual(t, x, margin-0.01, "%q", text)
		require.LessOrEqual(t, x+w, paper.W-margin+0.01, "%q", text)
		require.LessOrEqual(t, y, paper.H-margin+2, "%q", text)
		for _, r := range text {
			require.True(t, drawable()[r], "%q has no glyph for %q", text, r)
		}
	}
	pages := l.flow(d)
	for n, p := range pages {
		l.pdf.AddPage()
		for i, a := range p {
			require.LessOrEqual(t, a.y+a.h, paper.H-margin-footRoom+3.01, "atom %d of page %d", i, n)
			a.draw()
		}
		l.foot(d.Foot, n+1, len(pages))
	}
	require.NoError(t, l.pdf.Error())
	require.Positive(t, texts)
	return len(pages)
}

// The same document gives the same bytes.
func TestSameInSameOut(t *testing.T) {
	d := sample(func(name string) string { return "the " + name })
	a, err := d.PDF(A4)
	require.NoError(t, err)
	b, err := d.PDF(A4)
	require.NoError(t, err)
	assert.Equal(t, a, b)
	assert.Equal(t, d.HTML(A4), d.HTML(A4))
}

// No two atoms of a page lie on one another, and none is lost or told twice
// save the heads of tables.
func TestFlowLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Document{Title: "x"}
		want := 0
		for range rapid.IntRange(1, 8).Draw(t, "sections") {
			n := rapid.IntRange(1, 30).Draw(t, "rows")
			tab := Table{Head: []string{"A", "B"}}
			for range n {
				tab.Rows = append(tab.Rows, Row("row", strings.Repeat("word ", rapid.SampledFrom([]int{1, 3, 40, 3000}).Draw(t, "words"))))
			}
			want += n
			d.Sections = append(d.Sections, Section{Heading: "Section", Blocks: []Block{tab}, Wide: rapid.Bool().Draw(t, "wide"), Fine: rapid.Bool().Draw(t, "fine")})
		}
		rows := 0
		l, _ := d.layout(A4)
		l.boxes = func(text string, _, _, _, _ float64) {
			if text == "row" {
				rows++
			}
		}
		for _, p := range l.flow(d) {
			l.pdf.AddPage()
			for i, a := range p {
				for _, b := range p[:i] {
					apart := a.y >= b.y+b.h-0.001 || b.y >= a.y+a.h-0.001 || a.x != b.x
					require.True(t, apart, "two atoms at %v and %v", a.y, b.y)
				}
				a.draw()
			}
		}
		require.Equal(t, want, rows)
	})
}

// Nothing that a text says becomes part of the page.
func TestHTMLIsOnlyText(t *testing.T) {
	evil := `</style></svg></title><script>alert(1)</script><img src=x onerror=x>"'&<!--` + "\u202e\u2066\x1b[2J\x00"
	got := sample(func(string) string { return evil }).HTML(A4)
	for _, bad := range []string{"<script", "<img", "onerror=x>", "\u202e", "\u2066", "\x1b", "\x00", "<!--"} {
		assert.NotContains(t, got, bad)
	}
	assert.Equal(t, 1, strings.Count(got, "</style>"))
	assert.Contains(t, got, "default-src 'none'")
	got = sample(func(name string) string { return name }).HTML(A4)
	assert.NotRegexp(t, `(?i)(src|href)\s*=|url\(|@import|http:|https:`, got, "no outside resource")
}

// What html/template would leave out or write in another way.
func TestFootInAStyleSheet(t *testing.T) {
	got := Document{Title: "x", Foot: `Site: 5 + 3 "</style>"`}.HTML(A4)
	assert.Contains(t, got, `content: "Site: 5 + 3 \000022\00003c/style\00003e\000022" }`)
	assert.Contains(t, got, "<footer dir=\"auto\">Site: 5 &#43; 3 &#34;&lt;/style&gt;&#34;</footer>")
	assert.NotContains(t, got, "ZgotmplZ")
}

func TestBarInCharacters(t *testing.T) {
	assert.Equal(t, "...====....", Bar{Pieces: [][2]float64{{0.3, 0.6}}}.text())
	assert.Equal(t, "x..===x...x", Bar{Pieces: [][2]float64{{0.3, 0.5}}, At: []float64{0, 0.6, 1}}.text())
	assert.Equal(t, "x==========", Bar{Pieces: [][2]float64{{0, 1}}, At: []float64{0}}.text())
}

// The forms of letters, by the code charts of Unicode 15 (FE8D: alef alone, FE91:
// beh first, FE92: beh middle, FE90: beh last, FEFB: lam with alef alone).
func TestArabicForms(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"alone", "ب", "\ufe8f"},
		{"first, middle and last", "ببب", "\ufe91\ufe92\ufe90"},
		{"alef does not join what follows", "باب", "\ufe91\ufe8e\ufe8f"},
		{"lam with alef", "لا", "\ufefb"},
		{"lam with alef after beh", "بلا", "\ufe91\ufefc"},
		{"a mark does not part", "ب\u064eب", "\ufe91\u064e\ufe90"},
		{"hamza joins nothing", "بءب", "\ufe8f\ufe80\ufe8f"},
		{"Persian", "پی", "\ufb58\ufbfd"},
		{"not Arabic", "né", "né"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, []rune(tt.want), joined([]rune(tt.text)))
		})
	}
}

// Letters are only shaped, never exchanged: compatibility normalisation (Unicode
// Standard Annex 15) brings them back.
func TestShapingKeepsTheText(t *testing.T) {
	letters := rapid.StringOf(rapid.RuneFrom([]rune("ءآأؤإئابةتثجحخدذرزسشصضطظعغفقكلمنهوىي پچگی،؛abc12")))
	rapid.Check(t, func(t *rapid.T) {
		text := letters.Draw(t, "text")
		require.Equal(t, norm.NFKC.String(text), norm.NFKC.String(string(joined([]rune(text)))))
	})
}

// Lines as they look from the left; capitals stand for letters from the right,
// as in the examples of Unicode Standard Annex 9.
func TestFromLeft(t *testing.T) {
	hebrew := func(s string) string {
		return strings.Map(func(r rune) rune {
			if r >= 'A' && r <= 'Z' {
				return r - 'A' + 'א'
			}
			return r
		}, s)
	}
	tests := []struct{ text, want string }{
		{"car means CAR.", "car means RAC."},
		{"car MEANS CAR.", "car RAC SNAEM."},
		{"A 12.50 B", "B 12.50 A"},
		{"A (B) c", "(B) A c"},
		{"x A1 y", "x 1A y"},
		{"plain 12", "plain 12"},
	}
	for _, tt := range tests {
		assert.Equal(t, hebrew(tt.want), string(fromLeft([]rune(hebrew(tt.text)))), tt.text)
	}
}

func TestMissingGlyphsShow(t *testing.T) {
	assert.Equal(t, "a□b□", visible("a\U0001F600b\u1200"), "an emoji and an Ethiopic letter")
	assert.Equal(t, "é", visible("e\u0301"), "an accent joins its letter")
}

func TestPaperOf(t *testing.T) {
	p, err := PaperOf("letter")
	require.NoError(t, err)
	assert.Equal(t, Letter, p)
	_, err = PaperOf("A4")
	assert.ErrorContains(t, err, "expected a4 or letter")
}

// In a narrow window no line is too wide, and no word is lost.
func TestTextOfANarrowWindow(t *testing.T) {
	d := Document{Title: "A title that is longer than the narrow window is wide, by some words", Sections: []Section{{Heading: "Found", Blocks: []Block{
		Facts{{Name: "Site", Value: strings.Repeat("word ", 20)}},
		Table{Head: []string{"Reading", "Found", "If nothing were wrong", "Drawn", "Verdict"}, Rows: [][]Cell{
			{{Text: "Battery voltage at the controller"}, {Text: "12.57 V"}, {Text: "12.38 to 12.83 V"}, {Bar: &Bar{Pieces: [][2]float64{{0.2, 0.8}}, At: []float64{0.5}}}, {Text: "as expected"}},
		}},
		Signatures{"Seen by / date"}, Blanks{"Name"},
	}}}}
	words := func(text string) int { return strings.Count(text, "word") }
	for _, w := range []int{48, 60, 80} {
		text := d.TextIn(w)
		for line := range strings.Lines(text) {
			assert.LessOrEqual(t, ansi.StringWidth(strings.TrimSuffix(line, "\n")), w, line)
		}
		assert.Equal(t, 20, words(text))
	}
	assert.Equal(t, d.TextIn(80), d.Text())
}

// A page to hang on a wall has smaller letters rather than a second sheet; what would be
// too small to read goes on there.
func TestLargeFitsOneSheet(t *testing.T) {
	lines := func(n int) Document {
		var l List
		for range n {
			l.Items = append(l.Items, Item{Text: "Keep the openings free."})
		}
		return Document{Title: "Care", Large: true, Sections: []Section{{Heading: "Each week", Blocks: []Block{l}}}}
	}
	for _, p := range []Paper{A4, Letter} {
		last := 1.1
		for _, n := range []int{20, 56, 62, 68} {
			l, scale := lines(n).layout(p)
			assert.Equal(t, 1, len(l.flow(lines(n))), "%d lines on %s", n, p.Name)
			assert.LessOrEqual(t, scale, last)
			last = scale
		}
		assert.Less(t, last, 1.0)
		l, scale := lines(400).layout(p)
		assert.Greater(t, len(l.flow(lines(400))), 1)
		assert.InDelta(t, 0.78, scale, 1e-9)
	}
	assert.Equal(t, 2, strings.Count(lines(62).HTML(Letter), "body.large { font-size: "), "a browser prints it so too")
}
