package wiring

import (
	"fmt"
	"maps"
)

// layouts are the ways to draw the site, the best first.
func layouts(v View) []func(View, int) *sheet {
	if v.Site.Kit != nil {
		return []func(View, int) *sheet{closedKit}
	}
	return []func(View, int) *sheet{wide, narrow}
}

// closedKit sets the panel at the left of the kit, which has its battery inside and its lamp
// sockets at the right; the notes go below the panel.
func closedKit(v View, w int) *sheet {
	const rows, inside, gutter = 7, 20, 2
	array := arrayTexts(v, "x")
	left := array.width() + 1
	least := left + arrayRun + inside + 3 // a mark reaches beyond the edge
	if w < least {
		return nil
	}
	from := left + arrayRun + min(w-least, 24)
	to := from + inside + 1
	s := newSheet(to+2, rows)
	s.noteW, s.noteY = from-gutter, 4
	s.box(0, 0, left, 3, "array")
	s.box(from, 0, to, rows-1, "kit")
	t := words().Kit
	s.inside(array, Plain, 2, left-2, 1)
	s.put(from+1, 1, " + "+t.Panel, Plain)
	s.put(from+1, 2, " -", Plain)
	if n := v.Site.Kit.USB; n > 0 {
		s.put(to-8, 1, fmt.Sprintf("USB %d", n), Plain)
	}
	s.put(from+3, 3, fmt.Sprintf(t.Battery, v.Site.Battery.CapacityAh), Plain)
	s.put(to-11, 4, t.Lamps+" +", Plain)
	s.put(to-5, 5, "-", Plain)
	s.arrayRun(v, run{1, left, from})
	s.points(v, to, 4, "load")
	s.fault(v, spot{0, 0}, spot{from, 0}, spot{from, 0}, spot{from, 0})
	return s
}

// kitWords say a closed kit and its panel.
func kitWords(v View) []string {
	s, w, t := v.Site, words().Said, words().Kit
	return []string{
		fmt.Sprintf(t.SaidPanel, w.Strings.Of(s.Array.Strings), w.Modules.Of(s.Array.Series), onlyIf(v.Open.Array, w.ArrayOff), onlyIf(v.Open.Shorted, w.ArrayShorted)),
		fmt.Sprintf(t.SaidKit, s.Battery.CapacityAh, t.USB.Of(s.Kit.USB), s.AllListedW()),
	}
}

// switchName is what opens the array's circuit.
func switchName(v View) string {
	if v.Site.Kit != nil {
		return words().Kit.Plug
	}
	return "switch"
}

// pointNames are the names of the points; at a closed kit some are elsewhere.
func pointNames(v View) map[string]string {
	names := words().Point
	if v.Site.Kit != nil {
		names = maps.Clone(names)
		maps.Copy(names, words().Kit.Point)
	}
	return names
}
