package procedure

import (
	"cmp"
	"slices"
	"strings"

	"ampwalk/diagnose/physics/reading"
)

// Worth is what taking a reading would teach [bits]; 0 if nothing or not known.
type Worth func(reading.Key) float64

// Next is the step to ask now and, in a sentence, why; false when the visit is
// done.
//
// Always-steps come first, then readings: the lowest rung with a reading worth
// its minutes, and on it the one that teaches most per minute. What a reading
// needs first (confirmations, setting up, readings without which it cannot be
// understood) is asked before it and counted in its minutes. When no reading is
// worth it, or the probing was stopped, what is open is put back, and the visit
// ends with leaving.
//
// Aims are steps of the visit's own, such as a repair. When no reading is worth it,
// the first of them that can be reached is led to, with what it needs, before
// anything is put back.
func (p *Procedure) Next(st State, worth Worth, aims ...string) (Step, string, bool) {
	return p.Find(st, Search{Worth: worth}, aims...)
}

// A Search is what is looked for, and in what time.
type Search struct {
	Worth Worth
	After string // the step answered last: the rest of its sheet comes first; "" for none

	// Hurried: only Minutes are left to measure. They go to the readings that teach most per
	// minute; these are asked in the safe order, the others are left out.
	Hurried bool
	Minutes float64
}

// Find is [Procedure.Next] by more than the worth of the readings.
func (p *Procedure) Find(st State, by Search, aims ...string) (Step, string, bool) {
	i, why, ok := p.next(st, by, aims...)
	if !ok {
		return Step{}, "", false
	}
	return p.Offer(st, p.Steps[i]), why, true
}

func (p *Procedure) next(st State, by Search, aims ...string) (int, string, bool) {
	for i := range p.Steps {
		if p.rules[i].when == emergency && st.mark(i) == Open && p.timely(st, i) {
			return i, p.whys.Emergency, true
		}
	}
	ended := p.Ended(st) != ""
	if !ended {
		if i, b, ok := p.makingSafe(st); ok {
			return i, strings.ReplaceAll(p.whys.Danger, "{for}", p.dangers[b].Title), true
		}
		if i, why, ok := p.beside(st, by.After); ok {
			return i, why, true
		}
		if i, why, ok := p.onward(st, by); ok {
			return i, why, true
		}
		for _, id := range aims {
			aim, known := p.index[id]
			if !known {
				continue
			}
			if i, ok := p.toward(st, aim); ok {
				return i, strings.ReplaceAll(p.whys.Aim, "{for}", p.Steps[aim].Title), true
			}
		}
	}
	if i, ok := p.nextRestore(st); ok {
		switch {
		case ended:
			return i, p.whys.Stopped, true
		case st.flags&openFlags == 0:
			return i, p.whys.Check, true
		default:
			return i, p.whys.Restore, true
		}
	}
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Rung == Leave && st.mark(i) == Open && p.timely(st, i) {
			return i, p.whys.Leave, true
		}
	}
	return 0, "", false
}

// passing flags are put back as soon as their readings are taken.
var passing = setOf(ArrayShorted, LoadStepOn, LeadOn)

func (p *Procedure) onward(st State, by Search) (int, string, bool) {
	leaving := p.Leaving(st)
	for i := range p.Steps {
		s := &p.Steps[i]
		if leaving && (s.Kind == Take || s.Kind == Choose) {
			continue // of a visit that was finished before the step was thought of
		}
		if s.Always && st.mark(i) == Open && p.allowed(st, i) {
			if s.Kind == Take || s.Kind == Choose {
				return i, p.whys.Always, true
			}
			return i, p.whys.Before, true
		}
	}
	plans := p.plans(st, by)
	if by.Hurried {
		plans = p.affordable(st, plans, by.Minutes)
	}
	for b := range flags {
		f := flagSet(1) << b
		if f&passing&st.flags == 0 || p.leftWhy(st, b) != "" {
			continue
		}
		plans = slices.DeleteFunc(plans, func(pl plan) bool { return p.rules[pl.take()].requires&f == 0 })
		if len(plans) == 0 {
			return p.undo[b], p.whys.Undo, true
		}
	}
	if len(plans) == 0 {
		return 0, "", false
	}
	pl := p.best(plans)
	if other, ok := p.spoiled(plans, pl.steps[0]); ok {
		pl = other
	}
	return pl.steps[0], p.why(pl), true
}

// Leaving reports whether the measuring is over: something was answered that comes when one
// leaves.
func (p *Procedure) Leaving(st State) bool {
	for i := range p.Steps {
		if p.Steps[i].Rung == Leave && st.mark(i) != Open {
			return true
		}
	}
	return false
}

func (p *Procedure) why(pl plan) string {
	first, take := p.Steps[pl.steps[0]], p.Steps[pl.take()]
	text := p.whys.First
	switch {
	case first.ID == take.ID:
		text = p.whys.Take
	case first.Kind == Confirm:
		text = p.whys.Confirm
	case first.Kind == Act:
		text = p.whys.Setup
	}
	return strings.ReplaceAll(text, "{for}", take.Title)
}

// A plan is a reading with all that must be asked before it.
type plan struct {
	steps   []int // the reading last
	minutes float64
	walks   float64 // of them, going from place to place
	rate    float64 // bits per minute
	flags   flagSet // after it
	at      string  // the place it ends at
}

func (pl plan) take() int { return pl.steps[len(pl.steps)-1] }

// plans are those that are worth their minutes, in the order of the steps.
func (p *Procedure) plans(st State, by Search) []plan {
	var plans []plan
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Kind != Take || st.mark(i) != Open {
			continue
		}
		bits := by.Worth(s.Reading)
		if !(bits >= MinBits) {
			continue
		}
		pl := plan{flags: st.flags, at: st.at}
		if !p.add(st, &pl, i) {
			continue
		}
		if pl.rate = bits / pl.minutes; pl.rate >= MinBitsPerMinute {
			plans = append(plans, pl)
		}
	}
	return plans
}

// Measures reports whether a reading is worth its minutes in the state as it is.
func (p *Procedure) Measures(st State, by Search) bool { return len(p.plans(st, by)) > 0 }

// affordable are the plans that the minutes suffice for together, those with the most bits
// per minute first. What several of them need first is counted once. The minutes are the
// steps' own: ways between the parts of a small system are short, and taken together.
func (p *Procedure) affordable(st State, plans []plan, minutes float64) []plan {
	slices.SortStableFunc(plans, func(a, b plan) int { return cmp.Compare(b.rate, a.rate) })
	all := plan{flags: st.flags, at: st.at}
	return slices.DeleteFunc(plans, func(pl plan) bool {
		with := all
		with.steps = slices.Clone(all.steps)
		if !p.add(st, &with, pl.take()) || with.minutes-with.walks > minutes {
			return true
		}
		all = with
		return false
	})
}

// best is the plan on the lowest rung with the most bits per minute.
func (p *Procedure) best(plans []plan) plan {
	return slices.MaxFunc(plans, func(a, b plan) int {
		if d := p.Steps[b.take()].Rung - p.Steps[a.take()].Rung; d != 0 {
			return int(d)
		}
		switch {
		case a.rate > b.rate:
			return 1
		case a.rate < b.rate:
			return -1
		default:
			return 0
		}
	})
}

// spoiled is the best plan without setting up that doing i would make
// impossible, such as the rest voltage before a load step.
func (p *Procedure) spoiled(plans []plan, i int) (plan, bool) {
	act := &p.rules[i]
	if p.Steps[i].Kind != Act {
		return plan{}, false
	}
	var lost []plan
	for _, pl := range plans {
		take := &p.rules[pl.take()]
		ready := !slices.ContainsFunc(pl.steps, func(j int) bool { return p.Steps[j].Kind == Act })
		if ready && (take.requires&act.clears&^act.sets != 0 || take.forbids&act.sets != 0) {
			lost = append(lost, pl)
		}
	}
	if len(lost) == 0 {
		return plan{}, false
	}
	return p.best(lost), true
}

// add puts step i, after all it needs, at the end of pl; false if it cannot be.
func (p *Procedure) add(st State, pl *plan, i int) bool {
	if slices.Contains(pl.steps, i) {
		return true
	}
	r := &p.rules[i]
	if p.closedBy(st, i) >= 0 {
		return false
	}
	for _, c := range r.needs {
		switch m := st.mark(c); {
		case m == Good, m == Open && !p.timely(st, c):
		case m != Open || !p.add(st, pl, c):
			return false
		}
	}
	for b := range flags {
		f := flagSet(1) << b
		if r.requires&f == 0 || r.dark.lit(pl.flags)&f != 0 {
			continue
		}
		a := p.set[b]
		if a < 0 || st.mark(a) != Open || !p.add(st, pl, a) {
			return false
		}
	}
	if r.requires&^r.dark.lit(pl.flags) != 0 || r.forbids&pl.flags != 0 {
		return false
	}
	for _, c := range r.first {
		with := *pl
		with.steps = slices.Clone(pl.steps)
		if st.mark(c) == Open && p.rules[c].requires&^p.rules[c].dark.lit(pl.flags) == 0 && p.add(st, &with, c) {
			*pl = with
		}
	}
	pl.steps = append(pl.steps, i)
	pl.minutes += p.Steps[i].Minutes
	if to := p.Steps[i].Place; to != "" {
		if pl.at != "" && pl.at != to {
			pl.minutes += WalkMinutes
			pl.walks += WalkMinutes
		}
		pl.at = to
	}
	if p.Steps[i].Kind == Act {
		pl.flags = pl.flags&^r.clears | r.sets
	}
	return true
}

// allowed reports whether the isolation state and the confirmations permit i now.
func (p *Procedure) allowed(st State, i int) bool {
	r := &p.rules[i]
	for _, c := range r.needs {
		if m := st.mark(c); m != Good && (m != Open || p.timely(st, c)) {
			return false
		}
	}
	return r.requires&^r.dark.lit(st.flags) == 0 && r.forbids&st.flags == 0 && p.closedBy(st, i) < 0 && p.timely(st, i)
}

// A darkRule says whether an array without light is as good as an isolated one.
type darkRule bool

// lit are the flags with what the dark stands for.
func (d darkRule) lit(fs flagSet) flagSet {
	if d && fs&bit(ArrayDark) != 0 {
		return fs | bit(ArrayIsolated)
	}
	return fs
}

// timely reports whether the moment of i has come: its "when" and its "after".
func (p *Procedure) timely(st State, i int) bool {
	r := &p.rules[i]
	if len(r.after) > 0 && !slices.ContainsFunc(r.after, func(j int) bool { return st.mark(j) == Good }) {
		return false
	}
	switch r.when {
	case stopped:
		return p.Ended(st) != ""
	case stoppedOpen:
		return p.Ended(st) != "" && st.flags&openFlags != 0
	case emergency:
		return p.emergency(st) >= 0
	case left:
		return len(p.Left(st)) > 0
	case probed:
		return p.probed(st)
	case measuring:
		return p.Ended(st) == ""
	case byVisit, danger:
		return false
	default:
		return true
	}
}

// probed reports whether a reading was taken with probes.
func (p *Procedure) probed(st State) bool {
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Red != "" && st.mark(i) == Good {
			return true
		}
	}
	return false
}

// Allowed are the readings not yet answered that the isolation state and the
// confirmations permit now, whatever they would teach.
func (p *Procedure) Allowed(st State) []Step {
	if p.Ended(st) != "" {
		return nil
	}
	var steps []Step
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Kind == Take && st.mark(i) == Open && p.allowed(st, i) {
			steps = append(steps, *s)
		}
	}
	return steps
}

// NextReading is the reading to take next where only the readings are known:
// every confirmation is taken as given, and what was set up for the readings
// taken as still so. It keeps the order of the rungs. False when no reading is
// worth taking.
func (p *Procedure) NextReading(taken func(reading.Key) bool, worth Worth) (Step, bool) {
	marks := make([]byte, len(p.Steps))
	var reached flagSet
	for i := range p.Steps {
		s := &p.Steps[i]
		if s.Kind == Confirm || s.Kind == Take && taken(s.Reading) {
			marks[i] = byte(Good)
		}
		for _, c := range p.rules[i].needs {
			marks[c] = byte(Good)
		}
		if s.Kind == Take && taken(s.Reading) {
			reached |= p.rules[i].requires &^ passing
		}
	}
	asFound := State{p: p, marks: string(marks)}
	setUp := asFound
	setUp.flags = reached
	by := Search{Worth: worth}
	plans := append(p.plans(asFound, by), p.plans(setUp, by)...)
	if len(plans) == 0 {
		return Step{}, false
	}
	return p.Steps[p.best(plans).take()], true
}
