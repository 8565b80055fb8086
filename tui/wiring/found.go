package wiring

import (
	"strings"
	"unicode/utf8"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// A Part is a piece of the drawing that a fault can be at.
type Part string

// The parts. words.toml has the part of each condition.
const (
	AtArray       Part = "array"
	AtArrayWire   Part = "array-wire"
	AtController  Part = "controller"
	AtBattery     Part = "battery"
	AtBatteryWire Part = "battery-wire"
	AtLoads       Part = "loads"
	AtLoadWire    Part = "load-wire"
)

// PartOf is where a condition acts: at wires by words.toml, else in a device by the
// catalogue; "" for one that is at no one place.
func PartOf(id condition.ID) Part {
	if part, ok := words().PartOf[string(id)]; ok {
		return part
	}
	return map[condition.Part]Part{
		condition.Array: AtArray, condition.Controller: AtController, condition.Battery: AtBattery, condition.Load: AtLoads,
	}[condition.Of(id).Part]
}

// HeldFrom is the probability from which a condition is held to be so, and no other.
const HeldFrom = 0.5

// held is where a fault is held to be by a belief.
func held(b *belief.Result) Part {
	if b == nil || len(b.Conditions) == 0 || b.Conditions[0].P < HeldFrom {
		return ""
	}
	return PartOf(b.Conditions[0].ID)
}

// takenOf are the readings that a visit has of each circuit.
func takenOf(answers []visiting.Answer) (t Taken) {
	at := map[reading.Key]*string{
		reading.ArrayV: &t.Array.V, reading.ArrayA: &t.Array.A, reading.BatteryV: &t.Battery.V,
		reading.BatteryA: &t.Battery.A, reading.LoadV: &t.Loads.V, reading.LoadA: &t.Loads.A,
	}
	for _, a := range answers {
		if to, ok := at[a.Reading]; ok && a.Kind == visiting.Took && a.Number != nil {
			*to = a.Text()
		}
	}
	return t
}

// values writes the readings of a circuit beside its wires: both below where they have
// room, else the voltage above.
func (s *sheet) values(r run, p Pair) {
	both := strings.TrimSpace(p.V + "  " + p.A)
	if s.beside(r, r.y+2, both) || both == "" {
		return
	}
	s.beside(r, r.y-1, p.V)
	s.beside(r, r.y+2, p.A)
}

// beside writes text in the middle of a run on row y, where nothing else stands there.
func (s *sheet) beside(r run, y int, text string) bool {
	from, to := min(r.from, r.to)+2, max(r.from, r.to)-2
	n := utf8.RuneCountInString(text)
	x := from + (to-from+1-n)/2
	if y < 0 || y >= len(s.cells) || x < from {
		return false
	}
	for _, c := range s.cells[y][x-1 : min(x+n+1, len(s.cells[y]))] {
		if c.r != ' ' {
			return false
		}
	}
	s.put(x, y, text, Read)
	return true
}

// faultOn marks a run where the fault is held to be there, at its first free place.
func (s *sheet) faultOn(v View, r run, part Part) {
	if v.Fault != part {
		return
	}
	for y := r.y; y <= r.y+1; y++ { // the plus wire, or the minus wire where that is full
		for k := 2; k < max(r.to-r.from, r.from-r.to)-1; k++ {
			if s.free(r.at(k), y) {
				s.mark(r.at(k), y, "!", Fault)
				return
			}
		}
	}
}

// A spot is the left upper corner of a device.
type spot struct{ x, y int }

// fault marks the title of the device that the fault is held to be in.
func (s *sheet) fault(v View, array, controller, battery, loads spot) {
	at, ok := map[Part]spot{AtArray: array, AtController: controller, AtBattery: battery, AtLoads: loads}[v.Fault]
	if !ok {
		return
	}
	s.put(at.x+1, at.y, "!", Fault)
	for x := at.x + 2; s.cells[at.y][x].r != ' '; x++ {
		s.cells[at.y][x].role = Fault
	}
}

// found says in words what was read, and where the fault is held to be.
func found(v View) []string {
	var list []string
	for _, p := range []struct {
		name string
		pair Pair
	}{{words().Part[AtArrayWire], v.Taken.Array}, {words().Part[AtBatteryWire], v.Taken.Battery}, {words().Part[AtLoadWire], v.Taken.Loads}} {
		if text := strings.TrimPrefix(strings.TrimSuffix(p.pair.V+", "+p.pair.A, ", "), ", "); text != "" {
			list = append(list, p.name+" "+text)
		}
	}
	return list
}
