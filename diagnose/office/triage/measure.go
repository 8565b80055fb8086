package triage

import (
	"math"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
)

// A Quantity is something that tells, from visit to visit, how a site ages.
type Quantity string

// The quantities.
const (
	RestVoltage   Quantity = "rest_v"     // of the battery after rest [V]
	Resistance    Quantity = "resistance" // of the battery, from the load step [Ω]
	ArrayPerLight Quantity = "array"      // array current over light, nothing held back [A per 1000 W/m²]
	BatteryDrop   Quantity = "battery"    // over the wires and joints between posts and controller, over the current [Ω]
	ArrayDrop     Quantity = "array_drop" // between array and controller, over the current [Ω]
	LoadDrop      Quantity = "load_drop"  // between load output and the farthest load, over the current [Ω]
)

// Quantities lists all, in the order shown.
var Quantities = []Quantity{RestVoltage, Resistance, ArrayPerLight, BatteryDrop, ArrayDrop, LoadDrop}

// Title names the quantity in plain words.
func (q Quantity) Title() string { return words().Measure[q].Title }

// Unit is its unit.
func (q Quantity) Unit() string { return words().Measure[q].Unit }

// A Measure is a quantity as one visit found it.
type Measure struct {
	Quantity Quantity
	Value    float64
}

// What must flow or shine before a ratio means something (judgement): a
// multimeter's last digits over less current say nothing of a joint.
const (
	minA     = 1   // [A]
	minLight = 200 // [W/m²]
)

// measures are the quantities that the visit's readings give. Of a step answered
// more than once the last answer counts.
func measures(entries []visiting.Entry, c *visiting.Conclusion) []Measure {
	got := map[reading.Key]float64{}
	for _, e := range entries {
		switch a := e.Answer; {
		case a == nil || a.Reading == "":
		case a.Kind == visiting.Took && a.Number != nil && !a.Doubted:
			got[a.Reading] = *a.Number
		case a.Kind == visiting.Took || a.Kind == visiting.Cannot:
			delete(got, a.Reading)
		}
	}
	if c != nil {
		for _, s := range c.Suspect {
			delete(got, s.Reading)
		}
	}
	var list []Measure
	add := func(q Quantity, x float64, of ...reading.Key) {
		for _, k := range of {
			if _, ok := got[k]; !ok {
				return
			}
		}
		if !math.IsNaN(x) && !math.IsInf(x, 0) {
			list = append(list, Measure{q, x})
		}
	}
	over := func(volts float64, amps reading.Key) float64 {
		if math.Abs(got[amps]) < minA {
			return math.NaN()
		}
		return volts / math.Abs(got[amps])
	}
	add(RestVoltage, got[reading.RestV], reading.RestV)
	add(Resistance, over(got[reading.RestV]-got[reading.StepPostV], reading.StepA), reading.RestV, reading.StepPostV, reading.StepA)
	if light := got[reading.Irradiance]; light >= minLight && c != nil && c.State.Regulating < 0.5 {
		add(ArrayPerLight, got[reading.ArrayA]/light*1000, reading.ArrayA)
	}
	add(BatteryDrop, over(math.Abs(got[reading.BatteryV]-got[reading.PostV]), reading.BatteryA), reading.BatteryV, reading.PostV, reading.BatteryA)
	add(ArrayDrop, over(math.Abs(got[reading.ModuleV]-got[reading.ArrayV]), reading.ArrayA), reading.ModuleV, reading.ArrayV, reading.ArrayA)
	add(LoadDrop, over(math.Abs(got[reading.LoadV]-got[reading.LoadEndV]), reading.LoadA), reading.LoadV, reading.LoadEndV, reading.LoadA)
	return list
}
