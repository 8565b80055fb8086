package document

import "time"

// A Document is a title and sections, without any layout.
type Document struct {
	Title    string
	Subject  string    // for the properties of the file
	Author   string    // for the properties of the file
	At       time.Time // for the properties of the file: when it was made, zero if not known
	Foot     string    // stands on every page beside its number
	Large    bool      // one column of large letters, to hang on a wall
	Grey     bool      // black, white and grey only, to be copied for a class
	Sections []Section
}

// A Section is a heading and blocks under it. Where there are two columns a wide
// one goes over both.
type Section struct {
	Heading string
	Blocks  []Block
	Wide    bool
	Fine    bool // in smaller letters, where paper allows
}

// A Block is one of [Paragraph], [Verdict], [Facts], [List], [Table],
// [Picture], [Signatures] and [Blanks].
type Block interface {
	text(p *printer)
	html(l *layout) piece
	pdf(l *layout, w float64) []atom
}

// A Paragraph is one or more sentences.
type Paragraph string

// A Verdict is the sentence that stands out.
type Verdict string

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
	Rows [][]Cell
}

// A Cell is a text, or a bar.
type Cell struct {
	Text   string
	Strong bool // stands out
	Bar    *Bar
}

// Row is a row of texts.
func Row(texts ...string) []Cell {
	row := make([]Cell, len(texts))
	for i, t := range texts {
		row[i].Text = t
	}
	return row
}

// A Bar draws the pieces of an expected range and what was found, as fractions of its
// length.
type Bar struct {
	Pieces [][2]float64
	At     []float64
}

// A Picture is a drawing with a caption, and the same in words for those who
// cannot have the drawing.
type Picture struct {
	Drawing Drawing
	Caption string
	Words   []string
}

// Signatures are the lines to sign on, by who signs.
type Signatures []string

// Blanks are lines to fill in by hand, by what goes on them.
type Blanks []string
