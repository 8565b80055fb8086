package procedure

import (
	"fmt"
	"maps"
	"slices"
)

// An OutcomeKind says how a step went.
type OutcomeKind string

// The kinds of outcome.
const (
	Done   OutcomeKind = "done"   // answered, taken, did
	Cannot OutcomeKind = "cannot" // with a reason
	Stop   OutcomeKind = "stop"   // a danger seen, or the wish to end
)

// An Outcome is what the procedure needs to know of an answer.
type Outcome struct {
	Step   string
	Kind   OutcomeKind
	Yes    bool    // for Confirm: the answer was "yes"
	Word   string  // of a word taken
	Value  float64 // of a number taken, for the stop rules [unit of the reading]
	Reason string  // for Cannot and Stop
}

// A Mark is what became of a step.
type Mark byte

// The marks.
const (
	Open    Mark = iota // not answered
	Good                // done, or confirmed
	Refused             // a confirmation with its bad answer
	Missed              // could not be done
)

// A State is how far a visit is and what is open. The zero State is the start.
// It is a value: [Procedure.Apply] never changes the one given.
type State struct {
	Stopped string // why the probing ended; "" while it goes on

	p       *Procedure
	marks   string // one Mark per step
	flags   flagSet
	reasons map[string]string // step to reason of Missed and Refused
}

// Has reports whether f is set.
func (st State) Has(f Flag) bool { return st.flags&bit(f) != 0 }

// Mark is what became of the step with the given id.
func (st State) Mark(id string) Mark {
	if st.p == nil {
		return Open
	}
	i, ok := st.p.index[id]
	if !ok {
		return Open
	}
	return st.mark(i)
}

// Reason is why the step could not be done or was refused, "" if it was.
func (st State) Reason(id string) string { return st.reasons[id] }

func (st State) mark(i int) Mark {
	if i >= len(st.marks) {
		return Open
	}
	return Mark(st.marks[i])
}

// Apply is the state after o. An outcome of a step the site does not have
// changes nothing, nor does an Act done against its Forbids, as a later
// correction can make it: connecting the array does not count while the battery
// turns out to be off. A visit that was corrected is replayed, see
// [Procedure.Replay].
func (p *Procedure) Apply(st State, o Outcome) State {
	i, ok := p.index[o.Step]
	if !ok {
		return st
	}
	if st.p != p {
		st.p, st.marks = p, string(make([]byte, len(p.Steps)))
	}
	s := &p.Steps[i]
	if s.Kind == Act && o.Kind == Done && p.rules[i].forbids&st.flags != 0 {
		return st
	}
	switch {
	case o.Kind == Stop && st.Stopped == "":
		st.Stopped = orElse(o.Reason, p.whys.Ended)
		return st
	case o.Kind == Stop && st.mark(i) == Good: // stopping again takes nothing back
		return st
	case o.Kind == Stop, o.Kind == Cannot:
		st.put(i, Missed, orElse(o.Reason, p.whys.NoReason))
		if s.Kind == Confirm { // not known is not good
			st.flags |= p.rules[i].sets
		}
	case s.Kind == Confirm && o.Yes != (s.Good == "yes"):
		st.put(i, Refused, orElse(o.Reason, s.StopText))
		st.flags |= p.rules[i].sets
		if s.Stops && st.Stopped == "" {
			st.Stopped = s.StopText
		}
	default:
		st.put(i, Good, "")
		for _, j := range p.rules[i].skips[o.Word] {
			if st.mark(j) == Open {
				st.put(j, Missed, p.whys.Skipped)
			}
		}
		if s.Kind != Confirm {
			st.flags = st.flags&^p.rules[i].clears | p.rules[i].sets
		}
		if s.StopAbove > 0 && (o.Value > s.StopAbove || o.Value < -s.StopAbove) && st.Stopped == "" {
			st.Stopped = s.StopText
		}
	}
	return st
}

func (st *State) put(i int, m Mark, reason string) {
	b := []byte(st.marks)
	b[i] = byte(m)
	st.marks = string(b)
	id := st.p.Steps[i].ID
	if reason == st.reasons[id] {
		return
	}
	st.reasons = maps.Clone(st.reasons)
	if reason == "" {
		delete(st.reasons, id)
		return
	}
	if st.reasons == nil {
		st.reasons = map[string]string{}
	}
	st.reasons[id] = reason
}

// Replay is the state after a whole visit, given in the order of answering,
// corrections included: a later outcome of a step takes the place of the
// earlier one. A stop during putting back or leaving is never replaced, since
// the same step is asked again after it. When an answer of putting back is
// corrected, what stays open is labelled anew.
func (p *Procedure) Replay(outcomes []Outcome) State {
	var kept []Outcome
	for _, o := range outcomes {
		at := slices.IndexFunc(kept, func(k Outcome) bool { return k.Step == o.Step && !p.stopStays(k) })
		if at < 0 || p.stopStays(o) {
			kept = append(kept, o)
			continue
		}
		kept[at] = o
		if p.putsBack(o.Step) {
			kept = slices.DeleteFunc(kept, func(k Outcome) bool { return k.Step != o.Step && p.labels(k.Step) })
		}
	}
	var st State
	for _, o := range kept {
		st = p.Apply(st, o)
	}
	return st
}

func (p *Procedure) stopStays(o Outcome) bool {
	i, ok := p.index[o.Step]
	return ok && o.Kind == Stop && (p.Steps[i].Rung == Leave || p.putsBack(o.Step))
}

func (p *Procedure) putsBack(id string) bool {
	i, ok := p.index[id]
	return ok && (p.Steps[i].Rung == Restore || p.rules[i].undoes != 0)
}

func (p *Procedure) labels(id string) bool {
	i, ok := p.index[id]
	return ok && p.rules[i].when == left
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// A flagSet holds flags as bits.
type flagSet uint8

// openFlags are put back before leaving.
var openFlags = setOf(LoadsOff, ArrayIsolated, ArrayShorted, BatteryIsolated, LoadStepOn)

func bit(f Flag) flagSet {
	i := slices.Index(flags, f)
	if i < 0 {
		panic(fmt.Sprintf("procedure: flag %q unknown", f))
	}
	return 1 << i
}

func setOf(fs ...Flag) (set flagSet) {
	for _, f := range fs {
		set |= bit(f)
	}
	return set
}
