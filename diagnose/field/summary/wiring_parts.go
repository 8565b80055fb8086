package summary

import (
	"fmt"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A part is a device beside array, controller, battery and main loads, with its readings.
type part struct {
	name, what string
	its        []own
	wired      bool // by two wires; earth has one
}

// An own is a reading of a device with the word before its value.
type own struct {
	key    reading.Key
	before string
}

// parts are those of the site.
func (f facts) parts() (list []part) {
	t, s := texts().Picture, f.site
	if i := s.Inverter; i != nil {
		at := t.AtBattery
		if i.From == site.FromOutput {
			at = t.AtOutput
		}
		list = append(list, part{t.Inverter, fmt.Sprintf("%.0f W, %s", i.RatedW, at), []own{{reading.InverterV, ""}, {reading.InverterA, ""}}, true})
	}
	if c := s.Charger; c != nil {
		name := t.Charger
		if s.SecondArray() {
			name = t.Second
		}
		list = append(list, part{name, fmt.Sprintf("%.0f A, %s", c.RatedA, t.AtBattery), []own{{reading.ChargerA, ""}}, true})
	}
	if n := s.Battery.Parallel(); n > 1 {
		list = append(list, part{t.Strings, fmt.Sprintf(t.Parallel, n), []own{{reading.StringA, ""}}, true})
	}
	if w := s.ListedFromW(site.FromBattery); w > 0 && s.Controller.LoadOutput {
		list = append(list, part{t.Beside, fmt.Sprintf("%.0f W, %s", w, t.AtBattery), nil, true})
	}
	if s.Earthing != "" {
		list = append(list, part{t.Earth, t.Pole[string(s.Earthing)], []own{{reading.PlusEarthV, "+"}, {reading.MinusEarthV, "-"}}, false})
	}
	return list
}

// Measures of the parts [mm].
const (
	partH    = 14.0
	partGap  = 3.0
	partsRow = 3 // side by side at most
)

// addParts draws the parts below the drawing, from y on, and gives its new height.
func (f facts) addParts(d *document.Drawing, y float64, device func(x, y, w, h float64, name, what string, its ...own)) float64 {
	list := f.parts()
	for len(list) > 0 {
		n := min(partsRow, len(list))
		w := (pictureW - 0.6 - partGap*(partsRow-1)) / partsRow
		for i, p := range list[:n] {
			x := 0.3 + float64(i)*(w+partGap)
			for k := range 2 {
				if k == 1 && !p.wired {
					break
				}
				at := x + w/2 + 2*float64(k)
				d.Add(line(0.4, document.Ink, document.Point{X: at, Y: y}, document.Point{X: at, Y: y + partGap}),
					document.Dot{At: document.Point{X: at, Y: y}, R: 0.6})
			}
			device(x, y+partGap, w, partH, p.name, p.what, p.its...)
		}
		y, list = y+partGap+partH+0.5, list[n:]
	}
	return y
}
