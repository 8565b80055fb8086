package procedure

import (
	"fmt"
	"slices"

	"ampwalk/diagnose/physics/reading"
)

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

var rungNames = []string{"prepare", "look", "clamp", "probe", "isolate", "battery", "restore", "leave"}

// String is the rung's name in steps.toml, "clamp".
func (r Rung) String() string { return rungNames[r] }

// UnmarshalText reads the rung's name.
func (r *Rung) UnmarshalText(text []byte) error {
	i := slices.Index(rungNames, string(text))
	if i < 0 {
		return fmt.Errorf("rung %q unknown, want one of %q", text, rungNames)
	}
	*r = Rung(i)
	return nil
}

// A Kind says how a step is answered.
type Kind string

// The kinds of step.
const (
	Confirm Kind = "confirm" // what was checked, answered "yes" or "no"
	Take    Kind = "take"    // a reading, answered as its reading.Spec says
	Choose  Kind = "choose"  // any number of Choices (the loads that are on)
	Act     Kind = "act"     // something to do; "done"
	Say     Kind = "say"     // words of one's own, or none
)

// A Flag is a state of isolation that steps require and change.
type Flag string

// The flags. Those of openFlags are put back before leaving.
const (
	LoadsOff        Flag = "loads-off"
	ArrayIsolated   Flag = "array-isolated"
	ArrayShorted    Flag = "array-shorted"    // through a rated lead and switch, for the short-circuit current
	BatteryIsolated Flag = "battery-isolated" // found so; no step asks for it
	Rested          Flag = "battery-rested"
	LoadStepOn      Flag = "load-step-on"
	CoversOpen      Flag = "covers-open"
	LeadOn          Flag = "lead-on"       // the shorting lead is on the array's ends
	ArrayCovered    Flag = "array-covered" // from the ground, so that no light reaches it
	ArrayDark       Flag = "array-dark"    // no light: what rests needs no isolated array
	LoadsCarry      Flag = "loads-carry"   // loads are on to hold the voltage down
	FlameOut        Flag = "flame-out"
	MetalAway       Flag = "metal-away"
	FuseSafe        Flag = "fuse-safe" // fitted, or its circuit is off
	SpotOff         Flag = "spot-off"  // nothing feeds the burnt place
)

var flags = []Flag{LoadsOff, ArrayIsolated, ArrayShorted, BatteryIsolated, Rested, LoadStepOn, CoversOpen, LeadOn,
	ArrayCovered, ArrayDark, LoadsCarry, FlameOut, MetalAway, FuseSafe, SpotOff}

// A Step is one question or action, its texts already made for the site.
type Step struct {
	ID        string
	Rung      Rung
	RungTitle string // "Clamp meter"
	Sheet     Sheet  // that it is asked on; without an id: alone
	Kind      Kind
	Reading   reading.Key // for Take
	Title     string      // a few words, "Array current"
	Purpose   string      // one sentence
	Do        string      // what to do, one or two short sentences; for Confirm the question
	Meter     string      // function and range; "" where no meter is used
	Probes    string      // where red and black, or the clamp, go
	Surprise  string      // what a surprising value usually means
	Caution   string
	Normal    string  // what is normal; {range} stands for the range computed for the site now
	Who       string  // who may do it
	Skip      string  // who may leave it out, and what follows
	Codes     string  // what comes before this text; "" where nothing is touched
	Source    string  // of what it asks or limits
	Place     string  // where: "array", "controller", "battery", "load"; "" anywhere
	Minutes   float64 // effort
	Choices   Choices // one answers a word, a Confirm or an Act; any number a Choose
	Checks    Choices // of a Confirm or an Act: each is checked and marked, or it is not answered
	Red       string  // drawing points, "" where not probed; see Points
	Black     string
	Clamp     string
	Reasons   Choices // why it may not be possible, to choose from

	Requires []Flag // set before it
	Forbids  []Flag // not set before it
	Sets     []Flag // a Confirm sets them by its bad answer
	Clears   []Flag

	Good      string              // for Confirm: the answer that lets go on, "yes" or "no"
	Needs     []string            // confirmations that must have their good answer
	First     []string            // asked before it, since they are needed to understand it
	After     []string            // asked only if one of these was done
	Notes     reading.Key         // of a Choose: the reading that the ids chosen make; "" none
	Always    bool                // asked whatever it would teach
	Skips     map[string][]string // for words: steps that an answer leaves nothing to do for
	Stops     bool                // the bad answer ends the probing
	StopAbove float64             // a larger reading ends the probing [unit of the reading]; 0: none
	StopText  string              // why
	Compare   []reading.Key       // readings as found to compare with

	Holds Hold // of its answer, at the next visit

	options []option
}

// A Hold is how long an answer may still be so at a later visit.
type Hold string

// The holds.
const (
	HoldsNot  Hold = ""
	HoldsDay  Hold = "day"  // one day
	HoldsFile Hold = "file" // as long as the site's file stays as it is
)

// Points of the wiring drawing that Red, Black and Clamp name.
var Points = []string{
	"module+", "module-", "array-side+", "array-side-", "array+", "array-", "controller-battery+", "controller-battery-",
	"post+", "post-", "load+", "load-", "load-end+", "load-end-", "block+", "block-",
	"array-switch-out+", "array-switch-out-", "array-fuse-out+", "battery-lug+", "battery-lug-", "battery-fuse-in+", "battery-fuse-out+",
	"battery-end+", "battery-end-", "load-fuse-in+", "load-fuse-in-", "load-fuse-out+", "load-switch-in+", "load-switch-in-",
	"load-switch-out+", "load-switch-out-", "load-joint-in+", "load-joint-in-",
	"array-wire", "battery-wire", "load-wire",
	"inverter+", "inverter-", "inverter-wire", "charger-wire", "earth",
}

// A Procedure is the steps that apply to one site, in their safe order.
type Procedure struct {
	Steps  []Step
	Limits []string // why some steps are left out at this site, one sentence each

	index map[string]int
	rules []rule  // per step, what the search reads often
	undo  [16]int // per bit of an open flag, the step that puts it back; -1: none
	set   [16]int // per bit of a flag, the Act that sets it; -1: none
	whys  whys

	relabel []int // steps that label what stays open
	dangers []hazard
}

// Step is the step with the given id.
func (p *Procedure) Step(id string) (Step, bool) {
	i, ok := p.index[id]
	if !ok {
		return Step{}, false
	}
	return p.Steps[i], true
}

// TitleOf is what the step that takes k is called, also where a site has no such
// step; a lamp's label; the key itself where none has.
func TitleOf(k reading.Key) string {
	if label, ok := k.LampLabel(); ok {
		return label
	}
	if label, ok := k.InverterLabel(); ok {
		return label
	}
	if k == reading.Seen {
		return embedded().SeenTitle
	}
	for _, s := range embedded().Steps {
		if s.Reading == k || s.Notes == k {
			return anywhere(s.Title)
		}
	}
	return string(k)
}

// StepTitle is what the step of an id is called, as [TitleOf] a reading.
func StepTitle(id string) string {
	for _, s := range embedded().Steps {
		if s.ID == id {
			return anywhere(s.Title)
		}
	}
	return TitleOf(reading.Key(id))
}

// anywhere is a title where no site is known: as at most of them.
func anywhere(title string) string {
	text, err := facts{}.write(title)
	if err != nil {
		return title
	}
	return text
}

// StepFor is the step that takes k.
func (p *Procedure) StepFor(k reading.Key) (Step, bool) {
	i := slices.IndexFunc(p.Steps, func(s Step) bool { return s.Kind == Take && s.Reading == k })
	if i < 0 {
		return Step{}, false
	}
	return p.Steps[i], true
}
