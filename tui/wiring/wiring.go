package wiring

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"ampwalk/diagnose/physics/site"
)

// A View is what is drawn.
type View struct {
	Site  *site.Site
	Open  Open
	Red   string // points of procedure.Points where the probes go, "" for none
	Black string
	Clamp string            // the wire in the clamp, "" for none
	Both  bool              // the other wire of the circuit is in the clamp too
	Arrow Arrow             // which way the clamp's arrow points
	Lamp  string            // label of the lamp that is asked about, "" for none
	Looks map[string]string // how lamps looked, by label
	Taken Taken             // what was read
	Fault Part              // where the fault is held to be, "" for nowhere

	InverterLamp  string // as Lamp, of the inverter's
	InverterLooks map[string]string
}

// Taken are the readings of each circuit as a person would write them, "" for none.
type Taken struct{ Array, Battery, Loads Pair }

// A Pair is the voltage and the current of a circuit.
type Pair struct{ V, A string }

// An Arrow is how a clamp is turned.
type Arrow int

// The arrows.
const (
	NoArrow Arrow = iota // not told
	Along                // toward the controller, into the battery or toward the loads
	Against
)

// Open is what is switched off or unplugged now.
type Open struct{ Array, Shorted, Battery, Loads bool }

// Marked reports whether the drawing shows where something goes.
func (v View) Marked() bool {
	return v.Red != "" || v.Black != "" || v.Clamp != "" || v.Lamp != "" || v.InverterLamp != ""
}

// A Role is what a piece of a line is.
type Role int

// The roles.
const (
	Plain  Role = iota
	Red         // where the red probe goes
	Black       // where the black probe goes
	Clamp       // the wire in the clamp
	Opened      // drawn open
	Asked       // what is looked at
	Read        // a value that was read
	Fault       // where the fault is held to be
)

// A Span is a piece of a line of one role.
type Span struct {
	Text string
	Role Role
}

// A Line is one row of a drawing.
type Line []Span

// The offsets of the pieces along the two wires, counted from the edge of the
// device [columns].
const (
	atClamp  = 2
	atSide   = 5 // the array's ends on its side of the switch
	atShort  = 7
	atSwitch = 8
	atFuse   = 13
	arrayRun = 19 // least length

	atLoadFuse   = 4
	atBackFuse   = 5 // of a battery without direct loads
	backRun      = 12
	atPlus       = 9 // where direct loads join the battery's plus wire
	atMinus      = 10
	atDirectFuse = 11 // of a battery with direct loads
	directRun    = 17
)

// Draw draws v in at most w columns and h rows, with box-drawing characters or
// in ASCII: one wide drawing where there is room, else a narrow one with the
// controller at the right of all. Further parts stand below; where they do not fit there,
// the one that is marked stands alone, and one that is not is left out. Nil where nothing
// fits. What the marks mean and how the lamps looked stands beside or below it.
func Draw(v View, w, h int, boxes bool) []Line {
	list := parts(v)
	below := drawParts(v, list, w, false, boxes)
	for _, lay := range layouts(v) {
		s := lay(v, w)
		if s == nil || len(s.cells)+len(below) > h {
			continue
		}
		lines, n := s.lines(notes(v, s.noteW), boxes), len(s.cells)
		lines = slices.Concat(lines[:n], below, lines[n:])
		return lines[:min(len(lines), h)]
	}
	if i := slices.IndexFunc(list, func(p part) bool { return p.marked(v) }); i >= 0 {
		lines := drawParts(v, list[i:i+1], w, true, boxes)
		if lines == nil || h < partLength {
			return nil
		}
		lines = append(lines, notes(v, w)...)
		return lines[:min(len(lines), h)]
	}
	for _, lay := range layouts(v) {
		if s := lay(v, w); s != nil && len(s.cells) <= h {
			lines := s.lines(notes(v, s.noteW), boxes)
			return lines[:min(len(lines), h)]
		}
	}
	return nil
}

// wide sets the array at the left of the controller, battery and loads at the
// right; the notes go below the array.
func wide(v View, w int) *sheet {
	const rows, gutter = 7, 2
	array, back := arrayTexts(v, "strings"), backWidth(v)
	away := backRun
	if !v.Site.Controller.LoadOutput {
		away = directRun
	}
	least := func() int { return array.width() + arrayRun + len(controllerWide[0]) + away + back + 4 }
	if w < least() {
		array = arrayTexts(v, "x")
	}
	if w < least() {
		return nil
	}
	left := array.width() + 1
	more := min(w-least(), 24)
	from := left + arrayRun + more/2        // left edge of the controller
	to := from + len(controllerWide[0]) + 1 // right edge
	battery := to + away + more - more/2    // left edge of battery and loads
	end := battery + back + 1
	s := newSheet(end+1, rows)
	s.noteW, s.noteY = from-gutter, 4
	s.box(0, 0, left, 3, "array")
	s.box(from, 0, to, rows-1, "controller")
	s.box(battery, 0, end, 3, "battery")
	s.box(battery, 3, end, rows-1, "loads")
	s.put(battery, 3, "├", Plain)
	s.put(end, 3, "┤", Plain)
	for i, text := range controllerWide {
		if y := 1 + i + i/2; v.Site.Controller.LoadOutput || i < 2 {
			s.put(from+1, y, text, Plain)
		}
	}
	s.put(from+2, 4, string(v.Site.Controller.Kind), Plain)
	s.inside(array, Plain, 2, left-2, 1)
	s.back(v, battery+4, battery+2, 1, 4)
	s.arrayRun(v, run{1, left, from})
	s.backRuns(v, run{1, battery, to}, run{4, battery, to})
	s.fault(v, spot{0, 0}, spot{from, 0}, spot{battery, 0}, spot{battery, 3})
	return s
}

// controllerWide is the inside of the controller: row by row its terminals at
// the left and the right.
var controllerWide = [...]string{" + array batt + ", " -            - ", "         load + ", "              - "}

// narrow sets array, battery and loads one below the other, the controller at
// the right of all of them; the notes go below.
func narrow(v View, w int) *sheet {
	const rows = 12
	const widest = " controller "
	array := arrayTexts(v, "strings")
	left := max(array.width(), backWidth(v)) + 1
	least := left + arrayRun + len(widest) + 2
	if w < least {
		return nil
	}
	from := left + arrayRun + min(w-least, 12)
	s := newSheet(from+len(widest)+2, rows)
	s.noteW, s.noteY = w, rows
	bottom := rows - 1
	if !v.Site.Controller.LoadOutput {
		bottom = 7
	}
	s.box(0, 0, left, 3, "array")
	s.box(0, 4, left, 7, "battery")
	s.box(0, 8, left, 11, "loads")
	s.box(from, 0, from+len(widest)+1, bottom, "controller")
	for i, name := range []string{"array", "battery", "load"} {
		if y := 1 + 4*i; y < bottom {
			s.put(from+1, y, " + "+name, Plain)
			s.put(from+1, y+1, " -", Plain)
		}
	}
	s.put(from+3, 3, string(v.Site.Controller.Kind), Plain)
	s.inside(array, Plain, 2, left-2, 1)
	s.back(v, 2, left-2, 5, 9)
	s.arrayRun(v, run{1, left, from})
	s.backRuns(v, run{5, left, from}, run{9, left, from})
	s.fault(v, spot{0, 0}, spot{from, 0}, spot{0, 4}, spot{0, 8})
	return s
}

// texts is what stands inside a device, on its plus and its minus row.
type texts [2]string

func (t texts) width() int {
	return max(utf8.RuneCountInString(t[0]), utf8.RuneCountInString(t[1]), len("array")) + len("  + ")
}

// arrayTexts shows each of two strings, of more their number and one of them.
func arrayTexts(v View, many string) texts {
	a := v.Site.Array
	one := "[1]"
	switch {
	case a.Series == 2:
		one = "[1]─[2]"
	case a.Series > 2:
		one = fmt.Sprintf("[1]..[%d]", a.Series)
	}
	switch {
	case a.Strings == 1:
		return texts{one}
	case a.Strings == 2:
		return texts{one, one}
	default:
		return texts{fmt.Sprintf("%d %s", a.Strings, many), one}
	}
}

func batteryTexts(v View) (t texts, role Role) {
	b := v.Site.Battery
	t = texts{fmt.Sprintf("%.0f V", v.Site.NominalV), fmt.Sprintf("%.0f Ah", b.CapacityAh)}
	switch {
	case b.Blocks > 1:
		t[0] = words().Said.Blocks.Of(b.Blocks)
	case b.Parallel() > 1:
		t[0] = words().Said.Strings.Of(b.Parallel())
	}
	if v.Open.Battery {
		t[1], role = "OPEN", Opened
	}
	return t, role
}

func loadTexts(v View) (t texts, role Role) {
	t = texts{fmt.Sprintf("%.0f W", v.Site.ListedFromW(v.Site.MainSource()))}
	if v.Open.Loads {
		t[1], role = "OFF", Opened
	}
	return t, role
}

func backWidth(v View) int {
	b, _ := batteryTexts(v)
	l, _ := loadTexts(v)
	return max(b.width(), l.width())
}

// inside writes a device's texts at column x and the signs of its terminals at
// column sign, on row y and the one below; last is the role of the second text.
func (s *sheet) inside(t texts, last Role, x, sign, y int) {
	s.put(x, y, t[0], Plain)
	s.put(x, y+1, t[1], last)
	s.put(sign, y, "+", Plain)
	s.put(sign, y+1, "-", Plain)
}

// back writes the insides of battery and loads.
func (s *sheet) back(v View, x, sign, battery, load int) {
	t, role := batteryTexts(v)
	s.inside(t, role, x, sign, battery)
	if v.Red == "block+" { // the first block stands for each of them
		s.put(x, battery, strings.Repeat(" ", len(t[0])), Plain)
		s.put(x+3, battery, "1", Plain)
		s.mark(x+1, battery, "R", Red)
		s.mark(x+5, battery, "B", Black)
	}
	t, role = loadTexts(v)
	s.inside(t, role, x, sign, load)
}

// A run is the two wires between a device and the controller: its plus row, and
// the columns of the edges at the device and at the other end.
type run struct{ y, from, to int }

func (r run) at(k int) int {
	if r.to < r.from {
		return r.from - k
	}
	return r.from + k
}

// span is the first column of n characters that begin at offset k.
func (r run) span(k, n int) int { return min(r.at(k), r.at(k+n-1)) }

func (s *sheet) arrayRun(v View, r run) {
	s.wires(r)
	s.fuse(r.span(atFuse, 5), r.y, v.Site.Array.FuseA)
	for i := range 2 {
		s.put(r.span(atSwitch, 4), r.y+i, "o──o", Plain)
		if v.Open.Array {
			s.put(r.span(atSwitch, 4), r.y+i, "o/ o", Opened)
		}
	}
	if v.Open.Array {
		s.put(r.span(atSwitch, 4), r.y-1, "OPEN", Opened)
	} else {
		s.put(r.span(atSwitch-1, 6), r.y-1, switchName(v), Plain)
	}
	if v.Open.Shorted {
		s.put(r.at(atShort), r.y, "┬", Opened)
		s.put(r.at(atShort), r.y+1, "┴", Opened)
		s.put(r.span(atShort-4, 5), r.y+2, "short", Opened)
	}
	s.ends(v, r, "module", "array")
	s.points(v, r.at(atSide), r.y, "array-side")
	s.between(v, r, map[string]int{"array-switch-out": atSwitch + 5, "array-fuse-out": atFuse + 6})
	s.clamp(v, r, "array-wire")
	s.values(r, v.Taken.Array)
	s.faultOn(v, r, AtArrayWire)
}

// backRuns draws the wires of battery and loads; direct loads join the
// battery's.
func (s *sheet) backRuns(v View, battery, load run) {
	s.wires(battery)
	at := atBackFuse
	if !v.Site.Controller.LoadOutput {
		at = atDirectFuse
	}
	s.fuse(battery.span(at, 5), battery.y, v.Site.Battery.FuseA)
	if v.Open.Battery {
		s.put(battery.span(at, 5), battery.y, "o/  o", Opened)
	}
	if v.Site.Controller.LoadOutput {
		s.wires(load)
	} else {
		s.join(battery, load)
	}
	s.fuse(load.span(atLoadFuse, 5), load.y, v.Site.LoadWiring.FuseA)
	if v.Open.Loads {
		s.put(load.span(atLoadFuse, 5), load.y, "o/  o", Opened)
	}
	s.ends(v, battery, "post", "controller-battery")
	other := "load"
	if !v.Site.Controller.LoadOutput {
		other = ""
	}
	s.ends(v, load, "load-end", other)
	length := max(battery.to-battery.from, battery.from-battery.to)
	s.between(v, battery, map[string]int{"battery-lug": 2, "battery-fuse-in": at - 2, "battery-fuse-out": at + 6, "battery-end": length - 2})
	s.between(v, load, map[string]int{"load-joint-in": 2, "load-switch-out": 3, "load-switch-in": atLoadFuse - 1, "load-fuse-out": atLoadFuse - 1, "load-fuse-in": atLoadFuse + 5})
	s.clamp(v, battery, "battery-wire")
	s.clamp(v, load, "load-wire")
	s.values(battery, v.Taken.Battery)
	s.values(load, v.Taken.Loads)
	s.faultOn(v, battery, AtBatteryWire)
	s.faultOn(v, load, AtLoadWire)
}

// join leads the wires of direct loads to the battery's; the plus wire crosses
// the minus wire without touching it.
func (s *sheet) join(battery, load run) {
	minus, plus := battery.at(atMinus), battery.at(atPlus)
	s.wires(run{load.y, load.from, minus})
	corner := "┘"
	if load.to < load.from {
		corner = "└"
	}
	s.put(minus, load.y, " ", Plain)
	for y := battery.y + 1; y < load.y; y++ {
		s.put(plus, y, "│", Plain)
	}
	for y := battery.y + 2; y <= load.y; y++ {
		s.put(minus, y, "│", Plain)
	}
	s.put(plus, battery.y, "┬", Plain)
	s.put(plus, load.y, corner, Plain)
	s.put(minus, battery.y+1, "┬", Plain)
	s.put(minus, load.y+1, corner, Plain)
}

func (s *sheet) wires(r run) {
	for k := 1; r.at(k) != r.to; k++ {
		s.put(r.at(k), r.y, "─", Plain)
		s.put(r.at(k), r.y+1, "─", Plain)
	}
}

func (s *sheet) fuse(x, y int, amps float64) {
	if amps > 0 {
		s.put(x, y, fmt.Sprintf("[%gA]", amps), Plain)
	}
}

// ends draws the terminals at both ends of the wires, each with its name.
func (s *sheet) ends(v View, r run, device, other string) {
	s.points(v, r.from, r.y, device)
	if other != "" {
		s.points(v, r.to, r.y, other)
	}
}

// points draws a pair of terminals, the probes on them where they go there.
func (s *sheet) points(v View, x, y int, name string) {
	for i, sign := range []string{"+", "-"} {
		switch name + sign {
		case v.Red:
			s.mark(x, y+i, "R", Red)
		case v.Black:
			s.mark(x, y+i, "B", Black)
		default:
			if name != "array-side" {
				s.put(x, y+i, "o", Plain)
			}
		}
	}
}

// between draws the probes on the wires of a run, at these offsets, where the wire is free
// there: where it is not, the words say the place.
func (s *sheet) between(v View, r run, points map[string]int) {
	for name, k := range points {
		for i, sign := range []string{"+", "-"} {
			switch x, y := r.at(k), r.y+i; {
			case !s.free(x, y):
			case v.Red == name+sign:
				s.mark(x, y, "R", Red)
			case v.Black == name+sign:
				s.mark(x, y, "B", Black)
			}
		}
	}
}

// free reports whether a mark at x would cover only wire.
func (s *sheet) free(x, y int) bool {
	for _, c := range s.cells[y][max(x-1, 0):min(x+2, len(s.cells[y]))] {
		if c.r != '─' {
			return false
		}
	}
	return true
}

func (s *sheet) clamp(v View, r run, wire string) {
	if v.Clamp != wire {
		return
	}
	letter := "C"
	if v.Arrow != NoArrow {
		flowsRight := (r.to < r.from) != (wire == "array-wire") // runs begin at the array, the battery and the loads
		letter = arrowHead(flowsRight == (v.Arrow == Along))
	}
	s.mark(r.at(atClamp), r.y, letter, Clamp)
	if v.Both {
		s.mark(r.at(atClamp), r.y+1, letter, Clamp)
	}
}

func arrowHead(right bool) string {
	if right {
		return ">"
	}
	return "<"
}

func (s *sheet) mark(x, y int, letter string, role Role) { s.put(x-1, y, "("+letter+")", role) }
