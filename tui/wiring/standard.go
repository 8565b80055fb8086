package wiring

import (
	"math"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
)

// The columns of the drawing of a standard picture.
const (
	standardLeft  = 13 // right edge of array, battery and loads
	standardRight = 28 // left edge of the controller
	standardRows  = 7
)

// StandardWidth is how many columns [DrawStandard] takes.
const StandardWidth = 45

// DrawStandard draws a standard picture: array, battery and loads below each other with
// their voltages at the controller, and the currents on their wires, [StandardWidth]
// columns wide. An arrow shows which way a current flows.
func DrawStandard(p visiting.Standard, boxes bool) []Line {
	s := newSheet(StandardWidth, standardRows)
	s.noteY = standardRows
	s.box(0, 0, standardLeft, standardRows-1, "array")
	s.box(standardRight, 0, StandardWidth-1, standardRows-1, "controller")
	for i, r := range []struct {
		name     string
		volts    plant.Index
		amps     plant.Index
		terminal string
		open     bool
		toward   bool // a positive current flows to the controller
	}{
		{"array", plant.ArrayV, plant.ArrayA, "array", p.Condition == condition.ArrayOpen, true},
		{"battery", plant.BatteryV, plant.BatteryA, "battery", p.Condition == condition.BatteryOpen, false},
		{"loads", plant.LoadV, plant.LoadA, "load", p.Out.LoadsCut, false},
	} {
		y := 1 + 2*i
		if i > 0 {
			s.put(0, y-1, "├ "+r.name+" ", Plain)
			for x := len(r.name) + 3; x < standardLeft; x++ {
				s.put(x, y-1, "─", Plain)
			}
			s.put(standardLeft, y-1, "┤", Plain)
		}
		volts := p.Volts(r.volts)
		if r.name == "battery" && r.open { // beside what the controller sees
			s.put(2, y, p.Volts(plant.PostV), Plain)
		} else {
			s.put(2, y, volts, Plain)
		}
		for x := standardLeft + 1; x < standardRight; x++ {
			s.put(x, y, "─", Plain)
		}
		s.put(standardLeft, y, "o", Plain)
		s.put(standardRight, y, "o", Plain)
		s.put(standardRight+2, y, r.terminal, Plain)
		if r.name == "battery" && r.open { // and what the controller sees
			s.put(StandardWidth-2-len(volts), y, volts, Plain)
		}
		amps := p.Out.Value[r.amps]
		switch {
		case r.open:
			s.put(standardLeft+5, y, "o/ o", Opened)
		case math.Abs(amps) >= 0.5*math.Pow10(-quantity.Decimals(quantity.Ampere)):
			s.put(standardLeft+2, y, " "+quantity.Format(math.Abs(amps), quantity.Ampere)+" "+arrowHead(r.toward == (amps > 0))+" ", Plain)
		}
	}
	return s.lines(nil, boxes)
}
