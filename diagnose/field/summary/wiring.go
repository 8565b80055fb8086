package summary

import (
	"fmt"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
)

// wiring draws the system with what was measured where it was measured.
func (f facts) wiring() document.Block {
	const (
		h      = 42.0
		arrayR = 22.0 // right edge of the array
		from   = 36.0 // controller
		right  = 69.0 // left edge of battery and loads
		upper  = 8.0  // plus wire of array and battery
		lower  = 29.0 // plus wire of the loads
		apart  = 6.0  // to the minus wire
	)
	t := texts().Picture
	s := f.site
	to := 56.0 // right edge of the controller
	mid := (to + right) / 2
	if !s.Controller.LoadOutput { // room for the wires from the battery to the loads, beside the values
		to = 52
		mid = (to + right - 3.2) / 2
	}
	var d document.Drawing
	d.W, d.H = pictureW, h

	wires := func(x1, x2, y float64) {
		d.Add(line(0.4, document.Ink, document.Point{X: x1, Y: y}, document.Point{X: x2, Y: y}),
			line(0.4, document.Ink, document.Point{X: x1, Y: y + apart}, document.Point{X: x2, Y: y + apart}))
		for _, x := range []float64{x1, x2} {
			d.Add(document.Dot{At: document.Point{X: x, Y: y}, R: 0.6}, document.Dot{At: document.Point{X: x, Y: y + apart}, R: 0.6})
		}
	}
	// value is a reading on a place of the drawing, with the word before it.
	value := func(x, y float64, k reading.Key, before string, align document.Align, most float64) bool {
		if !f.readings.Has(k) {
			return false
		}
		text := visiting.ValueText(f.readings, k)
		if f.verdict(k) == suspect {
			text += "?"
		}
		if before != "" {
			text = before + " " + text
		}
		l := label(x, y, text, align, most)
		l.Bold, l.Tone = true, document.Accent
		d.Add(l)
		return true
	}
	// device is a box with what it is, and below that its own readings.
	device := func(x, y, w, h float64, name, what string, its ...own) {
		d.Add(document.Frame(x, y, w, h, 0.4, document.Ink))
		title := label(x+1.2, y+3.2, name, document.Left, w-2)
		title.Bold = true
		d.Add(title, label(x+1.2, y+6.2, what, document.Left, w-2))
		row := y + 9.4
		for _, o := range its {
			if row < y+h && value(x+1.2, row, o.key, o.before, document.Left, w-2) {
				row += 3
			}
		}
	}
	wires(arrayR, from, upper)
	switch {
	case s.Kit != nil: // all behind the plug is one case
	case s.Controller.LoadOutput:
		wires(to, right, upper)
		wires(to, right, lower)
	default:
		wires(to, right, upper)
		for i, x := range []float64{right - 2.9, right - 1.4} {
			y := lower + apart*float64(i)
			d.Add(line(0.4, document.Ink, document.Point{X: x, Y: upper + apart*float64(i)}, document.Point{X: x, Y: y}, document.Point{X: right, Y: y}))
		}
	}
	device(0.3, 2, arrayR-0.3, 22, t.Array, fmt.Sprintf("%d x %.0f W", s.Array.Strings*s.Array.Series, s.Array.Module.PmpW),
		own{reading.ModuleV, ""}, own{reading.OpenV, t.Open}, own{reading.ShortA, t.Short}, own{reading.ModuleC, ""}, own{reading.Irradiance, ""})
	if s.Kit != nil {
		device(from, 1, pictureW-from-0.3, h-2, t.Kit, fmt.Sprintf("%g Ah", s.Battery.CapacityAh), own{reading.USBV, t.USB}, own{reading.LoadV, t.Lamps},
			own{reading.OutputW, t.Outputs}, own{reading.RunW, t.Evening}, own{reading.RunH, t.Ran})
	} else {
		device(from, 1, to-from, h-2, t.Controller, string(s.Controller.Kind))
		device(right, 2, pictureW-right-0.3, 22, t.Battery, fmt.Sprintf("%.0f V, %.0f Ah", s.NominalV, s.Battery.CapacityAh),
			own{reading.PostV, ""}, own{reading.RestV, t.Rest}, own{reading.StepPostV, t.Step}, own{reading.BatteryC, ""})
		device(right, 26, pictureW-right-0.3, 15, t.Loads, fmt.Sprintf("%.0f W", s.ListedFromW(s.MainSource())),
			own{reading.LoadEndV, ""}, own{reading.StandbyA, t.Standby})
	}

	value((arrayR+from)/2, upper-1.2, reading.ArrayA, "", document.Middle, from-arrayR-1)
	value((arrayR+from)/2, upper+3.9, reading.ArrayV, "", document.Middle, from-arrayR-1.6)
	between := 2*(mid-to) - 0.6 // for a value
	value(mid, upper-1.2, reading.BatteryA, "", document.Middle, between)
	value(mid, upper+3.9, reading.BatteryV, "", document.Middle, between)
	value(mid, lower-1.2, reading.LoadA, "", document.Middle, between)
	if s.Kit == nil {
		value(mid, lower+3.9, reading.LoadV, "", document.Middle, between)
	}

	looks := h - 4.0 // the lamps, from below
	for i := len(s.Controller.Lamps) - 1; i >= 0 && looks > 16; i-- {
		k := reading.Lamp(s.Controller.Lamps[i].Label)
		if f.readings.Has(k) {
			value(from+1.2, looks, k, "", document.Left, to-from-2)
			d.Add(label(from+1.2, looks-2.8, s.Controller.Lamps[i].Label+":", document.Left, to-from-2))
			looks -= 6.4
		}
	}
	d.H = f.addParts(&d, d.H, device)
	return document.Picture{Drawing: d, Words: f.inCircuits()}
}

// inCircuits are the readings circuit by circuit.
func (f facts) inCircuits() []string {
	t := texts().Picture
	var words []string
	for _, c := range []struct {
		name string
		keys []reading.Key
	}{
		{t.Array, []reading.Key{reading.ModuleV, reading.ArrayV, reading.ArrayA, reading.OpenV, reading.ShortA}},
		{t.Battery, []reading.Key{reading.BatteryV, reading.PostV, reading.BatteryA, reading.RestV}},
		{t.Loads, []reading.Key{reading.LoadV, reading.LoadA, reading.LoadEndV, reading.StandbyA}},
		{t.Kit, []reading.Key{reading.USBV, reading.OutputW, reading.RunW, reading.RunH}},
		{t.Inverter, []reading.Key{reading.InverterV, reading.InverterA}},
		{t.Charger, []reading.Key{reading.ChargerA}},
		{t.Strings, []reading.Key{reading.StringA}},
		{t.Earth, []reading.Key{reading.PlusEarthV, reading.MinusEarthV}},
	} {
		text := ""
		for _, k := range c.keys {
			if f.readings.Has(k) {
				if text != "" {
					text += "; "
				}
				text += visiting.Title(f.course, k) + " " + visiting.ValueText(f.readings, k)
			}
		}
		if text != "" {
			words = append(words, c.name+": "+text+".")
		}
	}
	return words
}
