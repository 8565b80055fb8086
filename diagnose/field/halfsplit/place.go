// Package halfsplit finds which part of a circuit is open, or is its bad joint, once
// it is sure that one of them is.
//
// Start with [ChainOf], [Chain.Search] and [Search.Next]. A voltage from plus to
// minus between two parts tells on which side of it the fault lies; the next one
// is taken where it is expected to tell most for its minutes. Voltages are in
// volts, currents in amperes, positive from the source to the sink.
//
// One part is at fault, and only along the circuit's own wires. A voltage between
// plus and minus cannot tell the two wires of one run apart. Whether a circuit may
// be touched at all is decided elsewhere.
package halfsplit

import "math"

// A Circuit is one of the three circuits of a site.
type Circuit string

// The circuits, each from its source to its sink.
const (
	Array   Circuit = "array"   // from the modules to the controller
	Battery Circuit = "battery" // from the battery posts to the controller
	Load    Circuit = "load"    // from the controller, or the battery, to the farthest load
)

// Circuits are all of them, in the order shown.
var Circuits = []Circuit{Array, Battery, Load}

// A Fault is what is wrong with one part.
type Fault string

// The faults.
const (
	Open  Fault = "open"  // it does not conduct
	Joint Fault = "joint" // it conducts badly
)

// Faults are all of them, in the order shown.
var Faults = []Fault{Open, Joint}

// A Part is one thing of a circuit that can be open or a bad joint.
type Part struct {
	ID          string
	Title       string  // begins with a small letter: it stands within a sentence
	Prior       float64 // that it is this one, where the circuit is open and nothing was read; judgement
	PriorJoint  float64 // the same where the circuit has a bad joint
	Repair      string  // what to do where it is open
	RepairJoint string  // what to do where it is a bad joint
	Caution     string

	ohm float64 // both wires, where it is sound [ohm]
}

// A Node is where plus and minus can be touched, between two parts.
type Node struct {
	ID      string
	Title   string
	Do      string
	Probes  string
	Red     string // points of the wiring drawing
	Black   string
	Caution string
	Place   string  // array, controller, battery or load
	Minutes float64 // with the way [min]

	behind int // how many parts lie between the source and the node
}

// Far is what holds a voltage on the far side of an open circuit.
type Far string

// What there may be.
const (
	FarUnknown Far = ""
	FarDead    Far = "dead" // nothing: it shows about 0 V, or the ghost of a floating wire
	FarFed     Far = "fed"  // another source, as the array behind an open battery circuit by day
)

// NoReading stands in [Ends] for a figure that was not taken.
var NoReading = math.NaN()
