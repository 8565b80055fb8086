package wiring

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/site"
)

// stringWires is the wire of each battery string in turn, in the clamp.
const stringWires = "string-wires"

// A part is a cell of the drawing below the others: two wires between the battery's posts
// or the load output and one more device.
type part struct {
	title string
	ends  [2]string // what stands at the left of each wire
	fuseA float64
	name  string // of its points at the right end, "" where it has none
	clamp string // the wire that a clamp goes around
	both  bool   // each of the two wires is one
	away  bool   // Along is away from the left end
	earth bool
}

// The columns of a cell.
const (
	cellW      = 26
	partFrom   = 8
	partFuse   = 10
	partClamp  = 17
	partTo     = 21
	partLength = 3 // rows
)

// parts are those of the site beside array, controller, battery and main loads.
func parts(v View) (list []part) {
	s, w := v.Site, words().Device
	at := func(from site.Source) [2]string {
		if from == site.FromOutput {
			return [2]string{w.Output + " +", w.Output + " -"}
		}
		return [2]string{w.Posts + " +", w.Posts + " -"}
	}
	if i := s.Inverter; i != nil {
		list = append(list, part{title: fmt.Sprintf(w.Inverter, i.RatedW), ends: at(i.From), fuseA: i.FuseA, name: "inverter", clamp: "inverter-wire", away: true})
	}
	if c := s.Charger; c != nil {
		title := w.Charger
		if s.SecondArray() {
			title = w.Second
		}
		list = append(list, part{title: fmt.Sprintf(title, c.RatedA), ends: at(site.FromBattery), clamp: "charger-wire"})
	}
	if beside := s.ListedFromW(site.FromBattery); beside > 0 && s.Controller.LoadOutput {
		list = append(list, part{title: fmt.Sprintf(w.Beside, beside), ends: at(site.FromBattery), away: true})
	}
	if n := s.Battery.Parallel(); n > 1 {
		list = append(list, part{title: w.Strings, ends: [2]string{"1 +", fmt.Sprintf("%d +", n)}, clamp: stringWires, both: true, away: true})
	}
	if s.Earthing != "" {
		list = append(list, part{title: fmt.Sprintf(w.Earthing, w.Pole[string(s.Earthing)]), ends: at(site.FromBattery), name: "earth", earth: true})
	}
	return list
}

// marked reports whether something goes to the part.
func (p part) marked(v View) bool {
	if p.clamp != "" && v.Clamp == p.clamp {
		return true
	}
	for _, point := range []string{v.Red, v.Black} {
		if p.name != "" && strings.TrimRight(point, "+-") == p.name {
			return true
		}
	}
	return false
}

// drawParts draws parts side by side in w columns, nil where there is none; alone is
// without the other drawing, so that all marks are here.
func drawParts(v View, list []part, w int, alone, boxes bool) (lines []Line) {
	across := max(1, (w+1)/cellW)
	if w < cellW-1 {
		return nil
	}
	for len(list) > 0 {
		n := min(across, len(list))
		s := newSheet(n*cellW, partLength)
		for i, p := range list[:n] {
			s.part(v, p, i*cellW, alone)
		}
		lines, list = append(lines, s.lines(nil, boxes)...), list[n:]
	}
	return lines
}

func (s *sheet) part(v View, p part, x int, alone bool) {
	s.put(x, 0, plaintext.Clean(p.title), Plain)
	for i, end := range p.ends {
		y := 1 + i
		s.put(x+partFrom-1-utf8.RuneCountInString(end), y, end, Plain)
		s.put(x+partFrom, y, "o", Plain)
		if p.earth {
			continue
		}
		for k := partFrom + 1; k < partTo; k++ {
			s.put(x+k, y, "─", Plain)
		}
		s.put(x+partTo, y, "o", Plain)
	}
	if p.fuseA > 0 {
		s.fuse(x+partFuse, 1, p.fuseA)
	}
	switch {
	case p.earth:
		s.earth(v, x, alone)
	case p.name != "":
		s.points(v, x+partTo, 1, p.name)
	}
	if p.clamp == "" || v.Clamp != p.clamp {
		return
	}
	letter := "C"
	if v.Arrow != NoArrow {
		letter = arrowHead(p.away == (v.Arrow == Along))
	}
	s.mark(x+partClamp, 1, letter, Clamp)
	if p.both || v.Both {
		s.mark(x+partClamp, 2, letter, Clamp)
	}
}

// earth draws the earth rod's wire, joined to the pole that is earthed, with the probes.
func (s *sheet) earth(v View, x int, alone bool) {
	y := 2
	switch v.Site.Earthing {
	case site.PolePlus:
		y = 1
		fallthrough
	case site.PoleMinus:
		for k := partFrom + 1; k < partTo-4; k++ {
			s.put(x+k, y, "─", Plain)
		}
	}
	s.put(x+partTo-4, y, "o", Plain)
	s.put(x+partTo-1, y, words().Device.Earth, Plain)
	for _, probe := range []struct {
		at, letter string
		role       Role
	}{{v.Red, "R", Red}, {v.Black, "B", Black}} {
		switch {
		case probe.at == "earth":
			s.mark(x+partTo-4, y, probe.letter, probe.role)
		case alone && probe.at == "post+":
			s.mark(x+partFrom, 1, probe.letter, probe.role)
		case alone && probe.at == "post-":
			s.mark(x+partFrom, 2, probe.letter, probe.role)
		}
	}
}
