package document

// A Drawing is made of shapes in millimetres, from its upper left corner. It is
// drawn as wide as its column, and never larger than it is.
type Drawing struct {
	W, H   float64
	Shapes []Shape
}

// A Shape is one of [Line], [Area], [Dot] and [Label].
type Shape interface {
	svg(l *layout) piece
	draw(l *layout, x, y, scale float64)
}

// A Point of a drawing [mm].
type Point struct{ X, Y float64 }

// A Tone is the colour of a shape. All can be told apart in grey.
type Tone int

// The tones.
const (
	Ink    Tone = iota // black
	Quiet              // grey
	Faint              // light grey, for areas
	Accent             // dark blue
)

var tones = map[Tone][3]int{Ink: {0, 0, 0}, Quiet: {110, 110, 110}, Faint: {222, 226, 232}, Accent: {20, 70, 140}}

// A Line joins its points.
type Line struct {
	Points []Point
	Width  float64 // [mm]
	Tone   Tone
	Dashed bool
}

// An Area is a filled polygon.
type Area struct {
	Points []Point
	Tone   Tone
}

// A Dot is a filled circle.
type Dot struct {
	At   Point
	R    float64
	Tone Tone
}

// An Align says where a label's point is.
type Align int

// The alignments.
const (
	Left Align = iota
	Middle
	Right
)

// A Label is a text on one line. What is longer than Max is cut.
type Label struct {
	At    Point // on the base line
	Text  string
	Size  float64 // height of the font [mm]
	Align Align
	Max   float64 // [mm]
	Tone  Tone
	Bold  bool
}

// Add puts shapes on top of the drawing.
func (d *Drawing) Add(shapes ...Shape) { d.Shapes = append(d.Shapes, shapes...) }

// Rect is the outline of a rectangle.
func Rect(x, y, w, h float64) []Point {
	return []Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}
}

// Frame is the line around a rectangle.
func Frame(x, y, w, h, width float64, tone Tone) Line {
	return Line{Points: append(Rect(x, y, w, h), Point{x, y}), Width: width, Tone: tone}
}
