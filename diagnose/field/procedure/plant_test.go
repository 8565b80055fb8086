package procedure

import (
	"slices"
	"strings"

	"ampwalk/diagnose/physics/reading"
)

// A plantState is what the answers have done to the real system, kept by the
// checker from its own knowledge of the steps, not from the data under test.
type plantState struct {
	arrayOpen, arrayShorted, leadOn, loadsOff, batteryOff, batterySeen bool
	rested, stepOn, coverOpen                                          bool
	ended                                                              bool // a stop rule or the wish to end
	agreed                                                             uint32
	lost                                                               uint32 // what the person would not or could not put back
	rung                                                               Rung   // highest rung of a reading so far

	found    uint32 // dangers seen or read, see hazardNames
	believed uint32 // dangers of the belief
	covered  bool   // the array, from the ground
	dark     bool
	carried  bool   // loads are on to lower the voltage
	made     uint32 // seen dangers that were made safe
	missed   uint32 // steps of making safe that could not be done, see safeSteps
	refused  uint32 // precautions refused

	kit bool // a closed kit: no battery to see or connect, no cover to open
}

// precautions that the checker knows, a bit each in agreed.
var precautions = []string{
	"people", "dry", "battery-look", "cables-look", "clamp-fit", "jewellery", "leads", "meter-proven",
	"tools", "no-current", "short-lead", "air", "eyes", "water", "permission", "lightning", "safe-back",
	"site", "polarity", "covers-off",
}

// arrayOff reports whether no array current can reach what rests.
func (w plantState) arrayOff() bool { return w.arrayOpen || w.dark }

func bitOf(names []string, name string) uint32 {
	for i, n := range names {
		if n == name {
			return 1 << i
		}
	}
	return 0
}

func (w plantState) has(names ...string) bool {
	for _, n := range names {
		if w.agreed&bitOf(precautions, n) == 0 {
			return false
		}
	}
	return true
}

// activeTests change one thing, watch the clamp and put it back.
var activeTests = []string{"test-load-up", "test-one-load", "test-shade"}

// restsOn are confirmations that a choice rests on: a clamp that was not zeroed, a meter
// that was not proven, shows nothing.
var restsOn = map[string]struct{ choice, on string }{
	"no-current": {"plug-zero", "clamp-fit"},
	"polarity":   {"meter-plus", "meter-proven"},
}

// dangers end the probing by their bad answer.
var dangers = []string{"permission", "lightning", "battery-look", "cables-look"}

// undoing steps, a bit each in lost.
var undoing = []string{"short-off", "lead-off", "load-step-off", "battery-connect", "array-connect", "loads-back", "covers-back", "array-uncover"}

// after is the plant after outcome o of step s, good where a confirmation got its good answer.
func (w plantState) after(id string, kind Kind, o Outcome, good bool) plantState {
	if o.Kind == Stop {
		if !w.ended {
			w.ended = true
			return w
		}
		if w.has(id) && bitOf(precautions, id) != 0 || id == "battery-connected" && w.batterySeen {
			return w // stopping again takes nothing back
		}
		o.Kind = Cannot
	}
	if o.Kind == Done && o.Value > 60 {
		w.ended = true
	}
	if r, ok := restsOn[id]; ok && !w.has(r.on) && slices.Contains(o.Chosen, r.choice) {
		good = false
	}
	if o.Kind == Done {
		w = w.endangered(id, o)
	}
	if slices.Contains(repairs, id) && o.Kind == Done && o.Word != ActNothing {
		for _, r := range readAs { // to be read again
			w.found &^= bitOf(hazardNames, r.danger)
		}
	}
	if kind == Confirm {
		b := bitOf(precautions, id)
		w.agreed &^= b
		w.refused |= b
		if good {
			w.agreed |= b
			w.refused &^= b
		} else if o.Kind == Done && bitOf(dangers, id) != 0 {
			w.ended = true
		}
		if id == "battery-connected" {
			w.batterySeen, w.batteryOff = good, !good
		}
		if id == "safe-back" && !good {
			w.lost = 1<<len(undoing) - 1
		}
		if id == "polarity" && !good {
			w.lost |= bitOf(undoing, "array-connect")
		}
		return w
	}
	if bitOf(undoing, id) != 0 {
		w.rung = 0 // what had to wait for it may be asked now
	}
	if o.Kind == Cannot {
		w.lost |= bitOf(undoing, id)
		w.missed |= bitOf(safeSteps, id)
		return w
	}
	w.agreed |= bitOf(precautions, id) // an action that others wait for
	if o.Word == ActNothing {
		return w
	}
	for _, o := range openings { // opened again, it is decided again
		if o.with == id && !o.is(&w) {
			w.lost &^= bitOf(undoing, o.by[0])
		}
	}
	switch id {
	case "array-cover":
		w.covered = true
	case "array-uncover":
		w.covered = false
	case "loads-off":
		w.loadsOff = true
	case "array-isolate":
		w.arrayOpen = true
	case "covers-off":
		w.coverOpen = true
	case "covers-back":
		w.coverOpen = false
		w.agreed &^= bitOf(precautions, "covers-off")
	case "lead-on":
		w.leadOn = true
	case "lead-off":
		w.leadOn = false
	case "short-on":
		w.arrayShorted = true
	case "short-off":
		w.arrayShorted = false
	case "rest":
		w.rested = true
	case "load-step-on":
		w.stepOn, w.rested = true, false
	case "load-step-off":
		w.stepOn = false
	case "battery-connect":
		w.batteryOff, w.batterySeen = false, true
	case "array-connect":
		if w.batteryOff || w.arrayShorted || w.leadOn {
			return w // as a later correction can make it: it does not count
		}
		w.arrayOpen, w.rested, w.batterySeen = false, false, false
		w.missed &^= bitOf(safeSteps, "array-isolate")
		w.agreed &^= bitOf(precautions, "no-current") | bitOf(precautions, "polarity")
	case "loads-back":
		w.loadsOff, w.rested = false, false
	}
	return w
}

// rungOf is the rung a reading belongs on, from its place in the readings file
// and its instrument.
func rungOf(k reading.Key) Rung {
	spec, _ := reading.SpecOf(k)
	switch {
	case spec.Section == "battery_rested", spec.Section == "load_step":
		return Battery
	case spec.Section == "loads_off", spec.Section == "array_isolated":
		return Isolate
	case spec.Meter == reading.Clamp:
		return Clamp
	case spec.Meter == reading.Voltmeter:
		return Probe
	default:
		return Look
	}
}

// atController are the readings at the controller's terminals, under its cover.
var atController = []reading.Key{reading.ArrayV, reading.BatteryV, reading.LoadV, reading.OpenV}

// insideKit reports whether s reaches what lies in the case of a closed kit.
func insideKit(s Step) bool {
	inside := []string{"post", "block", "controller-battery", "load-end", "inverter", "earth", "module"}
	at := func(point string) bool { return slices.Contains(inside, strings.TrimRight(point, "+-")) }
	return at(s.Red) || at(s.Black) || strings.HasPrefix(s.Clamp, "battery") || strings.HasPrefix(s.Clamp, "load") ||
		s.Rung == Battery || slices.Contains([]string{"covers-off", "mended-battery", "mended-controller"}, s.ID)
}

// throughTheMeter reports whether s would measure a current with probes.
func throughTheMeter(s Step) bool {
	spec, _ := reading.SpecOf(s.Reading)
	probes := s.Red != "" || s.Black != ""
	return probes && (spec.Unit == "A" || strings.Contains(s.Meter, "ampere")) || spec.Unit == "A" && spec.Meter != reading.Clamp
}

// check names the invariant that asking s in w would break, "" if none.
func (w plantState) check(s Step, absent map[string]bool, once bool) string {
	if absent[s.ID] {
		return "a step that the site does not have"
	}
	if what := w.checkDanger(s, absent, once); what != "" {
		return what
	}
	if w.ended && s.Rung < Restore && bitOf(undoing, s.ID) == 0 && s.ID != "emergency" {
		return "measuring goes on after a stop"
	}
	if w.ended && bitOf(undoing, s.ID) != 0 && !w.has("safe-back") {
		return "putting back without asking whether it is safe"
	}
	if w.kit && insideKit(s) {
		return "a closed kit opened"
	}
	switch s.ID {
	case "array-connect":
		if !w.kit && (w.batteryOff || !w.batterySeen) {
			return "array connected before the battery"
		}
		if w.arrayShorted || w.leadOn {
			return "a shorted array connected"
		}
		if !w.ended && !w.has("polarity") {
			return "array connected without knowing plus and minus"
		}
	case "lead-on":
		if !w.arrayOpen || !w.has("short-lead") {
			return "a source shorted that must not be"
		}
	case "short-on":
		if !w.arrayOpen || !w.leadOn || !w.has("short-lead", "polarity") {
			return "a source shorted that must not be"
		}
	case "lead-off":
		if w.arrayShorted {
			return "a short circuit opened without its switch"
		}
	case "array-isolate":
		if !w.has("permission", "lightning", "people", "dry", "site", "jewellery", "tools", "no-current", "battery-look", "cables-look") {
			return "a precaution is missing"
		}
	case "covers-off":
		if !w.has("permission", "lightning", "people", "dry", "site", "jewellery", "battery-look", "cables-look") {
			return "a precaution is missing"
		}
	case "appliances":
		if w.loadsOff || w.arrayOpen {
			return "loads tried while something is open"
		}
	case "test-load-up", "test-one-load", "test-shade":
		if w.arrayOpen || w.loadsOff || w.stepOn || w.covered || w.leadOn {
			return "a test while something is open"
		}
		if !w.has("permission", "lightning", "people", "dry", "cables-look", "clamp-fit") {
			return "a precaution is missing"
		}
	case "rest", "load-step-on":
		if !w.arrayOff() || !w.loadsOff || !w.has("air") {
			return "isolation is missing"
		}
	}
	if s.Kind != Take {
		return ""
	}
	if throughTheMeter(s) {
		return "a current through the meter, across a source"
	}
	spec, _ := reading.SpecOf(s.Reading)
	rung := rungOf(s.Reading)
	if rung < w.rung && rung > Look && spec.Section != "place" { // looking again is harmless
		return "a lower rung after a higher one"
	}
	untouched := !w.arrayOpen && !w.loadsOff && !w.stepOn && !w.covered
	isolated := true
	switch {
	case spec.Section == "place": // whatever is open
	case s.Reading == reading.ShortA:
		isolated = w.arrayOpen && w.arrayShorted && !w.covered
	case s.Reading == reading.OpenV:
		isolated = w.arrayOpen && !w.arrayShorted && !w.leadOn && !w.covered
	case spec.Section == "array_isolated":
		isolated = w.arrayOpen
	case spec.Section == "loads_off":
		isolated = w.arrayOff() && w.loadsOff && !w.stepOn
	case spec.Section == "battery_rested":
		isolated = w.rested && !w.stepOn
	case spec.Section == "load_step":
		isolated = w.stepOn && w.arrayOff()
	case rung == Clamp, rung == Probe:
		isolated = untouched
	}
	if !isolated {
		return "isolation is missing"
	}
	careful := true
	if rung >= Clamp {
		careful = w.has("permission", "lightning", "people", "dry", "cables-look")
	}
	if rung == Battery {
		careful = careful && w.has("air", "battery-look")
	}
	switch spec.Meter {
	case reading.Clamp:
		careful = careful && w.has("clamp-fit")
	case reading.Voltmeter:
		careful = careful && w.has("site", "jewellery", "leads", "meter-proven", "battery-look")
	case reading.Hydrometer:
		careful = careful && w.has("eyes", "water", "jewellery")
	}
	if s.Clamp != "" && s.Place == "battery" && s.Reading != reading.StandbyA && s.Reading != reading.StepA {
		careful = careful && w.has("jewellery", "battery-look")
	}
	posts := func(point string) bool { return strings.HasPrefix(point, "post") || strings.HasPrefix(point, "block") }
	if posts(s.Red) || posts(s.Black) {
		careful = careful && w.has("eyes", "air")
	}
	if s.Reading == reading.InverterV { // the battery's whole short circuit stands behind its terminals
		careful = careful && w.has("eyes")
	}
	if circuit, _, ok := s.Reading.Node(); ok && circuit == "battery" {
		careful = careful && w.has("eyes", "air")
	}
	if s.Reading == reading.BlockV || s.Reading == reading.StepBlockV {
		careful = careful && w.has("eyes", "tools")
	}
	if s.Reading == reading.USBV || s.Reading == reading.OutputW {
		careful = careful && w.has("permission", "lightning", "people", "dry", "battery-look", "cables-look")
	}
	if slices.Contains(atController, s.Reading) && !w.kit {
		careful = careful && w.has("covers-off")
	}
	if !careful {
		return "a precaution is missing"
	}
	return ""
}

// openings are what may be open: how it is told, its flag, the step that opens it, and those
// whose not being done explains it, as bits of undoing too. They are asked at every state of
// the walk, so that nothing is made for it.
var openings = func() []opening {
	list := []opening{
		{is: func(w *plantState) bool { return w.arrayOpen }, flag: ArrayIsolated, with: "array-isolate", by: []string{"array-connect", "battery-connect", "short-off", "lead-off"}},
		{is: func(w *plantState) bool { return w.leadOn }, flag: LeadOn, with: "lead-on", by: []string{"lead-off", "short-off"}},
		{is: func(w *plantState) bool { return w.coverOpen }, flag: CoversOpen, with: "covers-off", by: []string{"covers-back"}},
		{is: func(w *plantState) bool { return w.covered }, flag: ArrayCovered, with: "array-cover", by: []string{"array-uncover", "battery-connect"}},
		{is: func(w *plantState) bool { return w.arrayShorted }, flag: ArrayShorted, with: "short-on", by: []string{"short-off"}},
		{is: func(w *plantState) bool { return w.loadsOff }, flag: LoadsOff, with: "loads-off", by: []string{"loads-back"}},
		{is: func(w *plantState) bool { return w.stepOn }, flag: LoadStepOn, with: "load-step-on", by: []string{"load-step-off"}},
	}
	for i := range list {
		for _, id := range list[i].by {
			list[i].bits |= bitOf(undoing, id)
		}
	}
	return list
}()

type opening struct {
	is   func(*plantState) bool
	flag Flag
	with string
	by   []string
	bits uint32
}

// merged is w without what cannot matter any more: why something is left that
// is not open, and the battery looked at for an array that is connected.
func (w plantState) merged() plantState {
	var lost uint32
	for i := range openings {
		if openings[i].is(&w) {
			lost |= w.lost & openings[i].bits
		}
	}
	w.lost = lost
	w.batterySeen = w.batterySeen && w.arrayOpen
	if w.found|w.believed == 0 {
		w.missed = 0
	}
	w.refused = 0 // see agreed
	return w
}

// checkEnd names what is wrong when the visit ends in w, "" if nothing.
func (w plantState) checkEnd(p *Procedure, st State) string {
	for _, id := range []string{"labels", "log", "caretaker", "next-visit"} {
		if st.Mark(id) == Open && !(w.kit && id == "labels") {
			return "the end comes before leaving"
		}
	}
	for _, o := range openings {
		if !o.is(&w) {
			continue
		}
		decided := false
		for _, id := range o.by {
			decided = decided || w.lost&bitOf(undoing, id) != 0 || w.forbids(Step{ID: id}) != ""
		}
		recorded := false
		for _, l := range p.Left(st) {
			recorded = recorded || l.Flag == o.flag && l.Reason != "" && l.Reason != p.whys.NoReason
		}
		if !decided || !recorded || st.Mark("label-open") == Open {
			return "something stays open unrecorded"
		}
	}
	return ""
}
