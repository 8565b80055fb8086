// Package procedure is the safe order of a visit: the steps, the hazard
// ladder, what each step requires and changes, stop rules, and putting back.
//
// Start with [For], [Procedure.Next] and [State]. It knows no physics: what a
// reading would teach is given to it.
package procedure

import "ampwalk/diagnose/reading"

// A Rung of the hazard ladder; lower rungs come first.
type Rung int

// The rungs, from before touching anything to leaving.
const (
	Prepare Rung = iota // before touching: people, weather, tools
	Look                // eyes and contactless instruments only
	Clamp               // clamp meter around an insulated conductor
	Probe               // meter probes on live extra-low-voltage terminals
	Isolate             // switch or unplug
	Battery             // rest voltage, block voltages, electrolyte, load step
	Restore             // put back what was opened
	Leave               // labels, log, next visit
)

// A Kind says how a step is answered.
type Kind string

// The kinds of step.
const (
	Confirm Kind = "confirm" // what was checked, answered "yes" or "no"
	Take    Kind = "take"    // a reading, answered as its reading.Spec says
	Choose  Kind = "choose"  // any number of Choices (the loads that are on)
	Act     Kind = "act"     // something to do; "done"
)

// A Flag is a state of isolation that steps require and change.
type Flag string

// The flags.
const (
	LoadsOff      Flag = "loads-off"
	ArrayIsolated Flag = "array-isolated"
	Rested        Flag = "battery-rested"
	LoadStepOn    Flag = "load-step-on"
)

// A Step is one question or action, its texts already made for the site.
type Step struct {
	ID       string
	Rung     Rung
	Kind     Kind
	Reading  reading.Key // for Take
	Title    string      // a few words, "Array current"
	Purpose  string      // one sentence
	Do       string      // what to do, one or two short sentences
	Meter    string      // function and range; "" where no meter is used
	Probes   string      // where red and black, or the clamp, go
	Surprise string      // what a surprising value usually means
	Caution  string
	Who      string   // who may do it
	Minutes  float64  // effort
	Choices  []string // for words and Choose
	Red      string   // drawing points, "" where not probed; see Points
	Black    string
	Clamp    string
	Requires []Flag
	Sets     []Flag
	Clears   []Flag
}

// Points of the wiring drawing that Red, Black and Clamp name.
var Points = []string{
	"module+", "module-", "array+", "array-", "controller-battery+", "controller-battery-",
	"post+", "post-", "load+", "load-", "load-end+", "load-end-", "block+", "block-",
	"array-wire", "battery-wire", "load-wire",
}
