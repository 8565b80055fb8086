package visiting

import (
	"math"

	"ampwalk/diagnose/field/halfsplit"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// locatedFrom is the probability of a condition from which its place is looked for (a
// choice of this project): the search takes the condition as sure.
const locatedFrom = 0.8

// maxPlaces is how many readings are spent on one place (a choice of this project): the
// search needs two on the mean, and its rare long ways teach little.
const maxPlaces = 6

// circuits are the conditions that lie at one part of a circuit.
var circuits = map[condition.ID]struct {
	circuit halfsplit.Circuit
	fault   halfsplit.Fault
}{
	condition.ArrayOpen: {halfsplit.Array, halfsplit.Open}, condition.ArrayJoint: {halfsplit.Array, halfsplit.Joint},
	condition.BatteryOpen: {halfsplit.Battery, halfsplit.Open}, condition.BatteryJoint: {halfsplit.Battery, halfsplit.Joint},
	condition.LoadOpen: {halfsplit.Load, halfsplit.Open}, condition.LoadJoint: {halfsplit.Load, halfsplit.Joint},
}

// A Place is what is known of where a fault lies.
type Place struct {
	Condition condition.ID
	Parts     []halfsplit.Belief // the likeliest first
	Left      []halfsplit.Belief // the fewest that hold most of the belief; one is the place
	Readings  int                // taken to find it

	search halfsplit.Search
}

// Found reports whether one part is left.
func (p Place) Found() bool { return len(p.Left) == 1 && p.Readings > 0 }

// Place is where the fault of a condition lies, by what was read between the parts since
// the last repair; false for a condition that lies at no part, or that is not sure.
func (v *Visit) Place(id condition.ID) (Place, bool) {
	c, ok := circuits[id]
	r := v.latest
	if r == nil {
		r = v.asFoundBelief
	}
	if !ok || r == nil || r.Of(id) < locatedFrom {
		return Place{}, false
	}
	return v.placeOf(id, c.circuit, c.fault), true
}

func (v *Visit) placeOf(id condition.ID, circuit halfsplit.Circuit, fault halfsplit.Fault) Place {
	chain := halfsplit.ChainOf(v.site, circuit)
	if len(chain.Parts) == 0 {
		return Place{Condition: id}
	}
	p := Place{Condition: id}
	p.search = chain.Search(fault, v.ends(circuit, fault))
	from := v.repairedAt() + 1
	for _, a := range v.history[from:] {
		of, node, ok := a.Reading.Node()
		switch {
		case !ok || halfsplit.Circuit(of) != circuit || !a.stands():
		case a.Kind == Cannot:
			p.search = p.search.Without(node)
		case a.Number != nil:
			p.Readings++
			p.search = p.search.With(node, *a.Number)
		}
	}
	for _, n := range chain.Nodes {
		if _, ok := v.course.Step(string(reading.At(string(circuit), n.ID))); !ok {
			p.search = p.search.Without(n.ID) // above the limits of touch
		}
	}
	p.Parts, p.Left = p.search.Parts(), p.search.Left()
	return p
}

// ends is what was read at the two ends of a circuit.
func (v *Visit) ends(circuit halfsplit.Circuit, fault halfsplit.Fault) halfsplit.Ends {
	at := func(k reading.Key) float64 {
		if x, ok := v.readings.Numbers[k]; ok {
			return x
		}
		return math.NaN()
	}
	e := halfsplit.Ends{Voltmeter: v.readings.Instruments[reading.Voltmeter], CurrentA: math.NaN()}
	isolated := v.state.Has(procedure.ArrayIsolated)
	switch circuit {
	case halfsplit.Array:
		e.Source, e.Sink, e.CurrentA = at(reading.ModuleV), at(reading.ArrayV), at(reading.ArrayA)
	case halfsplit.Battery:
		e.Source, e.Sink, e.CurrentA = at(reading.PostV), at(reading.BatteryV), -at(reading.BatteryA)
		if fault == halfsplit.Open && isolated {
			e.Far, e.Sink = halfsplit.FarDead, math.NaN() // it was read with the array on
		}
	case halfsplit.Load:
		e.Source, e.Sink, e.CurrentA = at(reading.LoadV), at(reading.LoadEndV), at(reading.LoadA)
		if !v.site.Controller.LoadOutput {
			e.Source = at(reading.PostV)
		}
	}
	if fault == halfsplit.Open {
		e.CurrentA = math.NaN()
	}
	return e
}

// finding is the step of the reading that teaches most about where the fault lies that a
// repair is to be offered for; false where the place is known or nothing more can be
// reached.
func (v *Visit) finding(id condition.ID) (string, bool) {
	p, ok := v.Place(id)
	if !ok || len(p.Parts) == 0 || p.Readings >= maxPlaces {
		return "", false
	}
	n, _, ok := p.search.Next()
	if !ok {
		return "", false
	}
	return string(reading.At(string(circuits[id].circuit), n.ID)), true
}

// repairsPart are the actions, by their id, that a part of a circuit asks for.
func repairsPart(part string) string {
	switch part {
	case "array-fuse", "battery-fuse", "load-fuse":
		return "fuse"
	case "array-switch", "load-switch":
		return "close"
	default:
		return "joint"
	}
}

// atPlace is how likely the action mends the fault, by where it lies; 1 where nothing is
// known of that.
func (v *Visit) atPlace(id condition.ID, a condition.Action, chem site.Chemistry) float64 {
	p, ok := v.Place(id)
	if !ok || p.Readings == 0 {
		return 1
	}
	known := false
	for _, other := range condition.OfSite(id, v.site).ActionsFor(chem) {
		known = known || other.Done != "" && other.ID == repairsPart(p.Parts[0].Part.ID)
	}
	if !known {
		return 1
	}
	var sum float64
	for _, b := range p.Parts {
		if repairsPart(b.Part.ID) == a.ID {
			sum += b.P
		}
	}
	return max(sum, 0.001)
}
