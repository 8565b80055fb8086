package procedure

import (
	"fmt"
	"slices"
	"strings"
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
	Yes    bool     // for Confirm: the answer was "yes"
	Word   string   // of a word taken; of an Act: [ActNothing] where there was nothing to do
	Chosen []string // ids of the choices made, of the checks marked
	Value  float64  // of a number taken, for the stop rules [unit of the reading]
	Why    string   // for Cannot and Stop: the id of the reason, "" for another
	Reason string   // likewise, in words
	Again  bool     // the step was asked again: not a correction of its earlier outcome
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

	p        *Procedure
	marks    string // one Mark per step
	flags    flagSet
	found    dangerSet // dangers seen or read
	believed dangerSet // dangers of the belief, see [Procedure.Believe]
	at       string    // where the last step was done
	reasons  *reason   // of steps Missed and Refused, the latest first
}

// A reason is why a step was not done; "" takes an earlier one back.
type reason struct {
	step    int
	text    string
	earlier *reason
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
func (st State) Reason(id string) string {
	if st.p == nil {
		return ""
	}
	i, ok := st.p.index[id]
	if !ok {
		return ""
	}
	return st.reason(i)
}

func (st State) reason(i int) string {
	for r := st.reasons; r != nil; r = r.earlier {
		if r.step == i {
			return r.text
		}
	}
	return ""
}

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
	s, r := &p.Steps[i], &p.rules[i]
	if s.Kind == Act && o.Kind == Done && r.forbids&st.flags != 0 {
		return st
	}
	switch {
	case o.Kind == Stop && st.Stopped == "":
		st.Stopped = orElse(o.Reason, p.whys.Ended)
		return st
	case o.Kind == Stop && st.mark(i) == Good && r.undoes&st.flags == 0: // stopping again takes nothing back
		return st
	case o.Kind == Stop, o.Kind == Cannot:
		p.fail(&st, i, Missed, orElse(o.Reason, p.whys.NoReason))
		if o.Why == NoInstrument {
			st.skip(r.lacking, p.whys.NoInstrument)
		}
	case s.Kind == Confirm && o.Yes != (s.Good == "yes"):
		p.fail(&st, i, Refused, orElse(o.Reason, s.StopText))
		p.find(&st, i, o)
		if s.Stops && st.Stopped == "" {
			st.Stopped = s.StopText
		}
	case p.unproven(st, s, o) != "":
		p.fail(&st, i, Refused, p.unproven(st, s, o))
	default:
		p.succeed(&st, i, o)
	}
	if s.Place != "" {
		st.at = s.Place
	}
	return st
}

// fail marks what could not be done or was refused. What stays open by it is
// labelled again; what a confirmation did not show is not taken as good.
func (p *Procedure) fail(st *State, i int, m Mark, reason string) {
	st.put(i, m, reason)
	if p.Steps[i].Kind == Confirm {
		st.flags |= p.rules[i].sets
	}
	if p.Steps[i].Rung == Restore || p.rules[i].undoes != 0 {
		p.renew(st, p.relabel)
	}
}

// unproven is why a good choice cannot be: it rests on a confirmation that was
// not given in this visit. "" if nothing is against it.
func (p *Procedure) unproven(st State, s *Step, o Outcome) string {
	for _, id := range o.Chosen {
		if opt, ok := s.option(id); ok && opt.Needs != "" && st.Mark(opt.Needs) != Good {
			return strings.ReplaceAll(p.whys.Unproven, "{for}", p.Steps[p.index[opt.Needs]].Title)
		}
	}
	return ""
}

func (p *Procedure) succeed(st *State, i int, o Outcome) {
	s, r := &p.Steps[i], &p.rules[i]
	st.put(i, Good, "")
	p.find(st, i, o)
	st.skip(r.skips[o.Word], p.whys.Skipped)
	for _, id := range o.Chosen {
		st.skip(r.leaves[id], p.whys.Skipped)
	}
	if s.Kind != Confirm && o.Word != ActNothing {
		st.flags = st.flags&^r.clears | r.sets
	}
	if r.repairs && o.Word != ActNothing { // what was read of the plant before has to be read again
		for b := range p.dangers {
			if h := &p.dangers[b]; len(h.Reading) > 0 && !h.Stops {
				st.found &^= 1 << b
			}
		}
	}
	if set, ok := r.words[o.Word]; ok || len(r.words) > 0 {
		for _, other := range r.words {
			st.flags &^= other
		}
		st.flags |= set
	}
	p.renew(st, r.renews)
	if s.StopAbove > 0 && (o.Value > s.StopAbove || o.Value < -s.StopAbove) && st.Stopped == "" {
		st.Stopped = s.StopText
	}
}

// renew lets steps that were done be asked again, and confirmations in any case.
// An Act that could not be done stays so, or a visit would not end.
func (p *Procedure) renew(st *State, steps []int) {
	for _, j := range steps {
		if st.mark(j) == Good || st.mark(j) != Open && p.Steps[j].Kind == Confirm {
			st.put(j, Open, "")
		}
	}
}

// skip marks the steps that are not asked any more, and why.
func (st *State) skip(steps []int, why string) {
	for _, j := range steps {
		if st.mark(j) == Open {
			st.put(j, Missed, why)
		}
	}
}

func (st *State) put(i int, m Mark, why string) {
	b := []byte(st.marks)
	b[i] = byte(m)
	st.marks = string(b)
	if why != "" || st.reason(i) != "" {
		st.reasons = &reason{i, why, st.reasons}
	}
}

// Replay is the state after a whole visit, given in the order of answering,
// corrections included: a later outcome of a step takes the place of the
// last earlier one, unless the step was asked again. A stop during putting back or leaving is never replaced, since
// the same step is asked again after it. When an answer of putting back is
// corrected, what stays open is labelled again.
func (p *Procedure) Replay(outcomes []Outcome) State {
	var kept []Outcome
	for _, o := range outcomes {
		at := len(kept) - 1
		for at >= 0 && (kept[at].Step != o.Step || p.stopStays(kept[at])) {
			at--
		}
		if at < 0 || o.Again || p.stopStays(o) {
			kept = append(kept, o)
			continue
		}
		o.Again = kept[at].Again
		kept[at] = o
		if p.putsBack(o.Step) {
			kept = slices.DeleteFunc(kept, func(k Outcome) bool { return k.Step != o.Step && p.labels(k.Step) && !p.stopStays(k) })
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
type flagSet uint16

// openFlags are put back before leaving.
var openFlags = setOf(LoadsOff, ArrayIsolated, ArrayShorted, BatteryIsolated, LoadStepOn, CoversOpen, LeadOn, ArrayCovered)

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
