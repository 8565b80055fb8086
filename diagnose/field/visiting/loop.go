package visiting

import (
	"fmt"
	"slices"
	"strconv"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// ErrNoHead says that a visit's entries do not begin with its head.
var ErrNoHead = datafile.Error(func() string { return words().Problem.NoHead })

// New starts a visit at the site of h.SiteTOML and keeps h in the journal.
// Bad site text gives the site reader's error.
func New(h Head, j Journal) (*Visit, error) {
	v, err := begin(h, j)
	if err != nil {
		return nil, err
	}
	v.head.SiteName = v.site.Name
	head := v.head
	return v, j.Append(Entry{Head: &head})
}

// Resume takes up a visit again from what its journal kept. Later answers go
// to j, which may be nil for a visit that is only looked at.
func Resume(entries []Entry, j Journal) (*Visit, error) {
	if len(entries) == 0 || entries[0].Head == nil {
		return nil, ErrNoHead
	}
	v, err := begin(*entries[0].Head, j)
	if err != nil {
		return nil, err
	}
	for _, e := range entries[1:] {
		if e.Answer != nil {
			v.keep(*e.Answer)
		}
	}
	v.replay()
	v.concluded = v.Seq()
	return v, nil
}

func begin(h Head, j Journal) (*Visit, error) {
	s, err := site.Parse(h.SiteName+".site.toml", []byte(h.SiteTOML))
	if err != nil {
		return nil, err
	}
	v := &Visit{head: h, site: s, course: h.Depth.procedure(s), journal: j}
	v.replay()
	return v, nil
}

// Site is what is installed.
func (v *Visit) Site() *site.Site { return v.site }

// Head is what the visit started from.
func (v *Visit) Head() Head { return v.head }

// Procedure is the steps of this site in their safe order.
func (v *Visit) Procedure() *procedure.Procedure { return v.course }

// State is how far the visit is in the safe order.
func (v *Visit) State() procedure.State { return v.state }

// Seq is the number of answers given so far, corrections included and notes not.
func (v *Visit) Seq() int { return len(v.history) - len(v.Notes()) }

// Input is a deep copy of what is known, safe to use in another goroutine.
func (v *Visit) Input() belief.Input {
	return belief.Input{Site: v.site, Readings: v.readings.Clone()}
}

// Learn takes the result inferred from the Input at seq; a result that later
// answers have overtaken is ignored and false returned.
func (v *Visit) Learn(seq int, r *belief.Result) bool {
	if seq != v.Seq() {
		return false
	}
	v.latest = r
	v.believe()
	return true
}

// believe tells the procedure which dangers the belief raises.
func (v *Visit) believe() {
	v.state = v.course.Believe(v.state, func(id string) float64 {
		if v.latest == nil {
			return 0
		}
		return v.latest.Of(condition.ID(id))
	})
}

// FoundInput is what is known of the plant as it was found: without what was read after
// something was mended.
func (v *Visit) FoundInput() belief.Input {
	return belief.Input{Site: v.site, Readings: v.readingsOf(v.Answers(), v.head.StartedAt)}
}

// LearnFound takes the belief in the plant as found, where something was mended since.
func (v *Visit) LearnFound(r *belief.Result) { v.asFoundBelief = r }

// Found is the belief in the plant as found: the latest one where nothing was mended.
// nil where it is not known.
func (v *Visit) Found() *belief.Result {
	if v.repairedAt() < 0 {
		return v.latest
	}
	return v.asFoundBelief
}

// Belief is the latest result, nil at first.
func (v *Visit) Belief() *belief.Result { return v.latest }

// Before is the result before the last answer, nil at first.
func (v *Visit) Before() *belief.Result { return v.before }

// Give keeps a, in the journal first. An answer to a step that was answered
// before replaces it; everything after it is kept and valued again.
func (v *Visit) Give(a Answer) error {
	if a.At.IsZero() {
		return ErrNoTime
	}
	if _, ok := v.course.Step(a.Step); !ok && a.Kind != Note {
		return fmt.Errorf(words().Problem.NoStep, a.Step)
	}
	a.Again = a.Kind != Note && !a.Repeats && v.askedAgain(a.Step)
	for _, b := range append(v.heldBy(a), a) {
		if err := v.journal.Append(Entry{Answer: &b}); err != nil {
			v.replay()
			return fmt.Errorf(words().Problem.NotKept, err)
		}
		v.keep(b)
	}
	if a.Kind == Note {
		return nil
	}
	v.before = v.latest
	if len(deedsDone(a)) > 0 { // what was believed is of the plant before
		if v.asFoundBelief == nil {
			v.asFoundBelief = v.latest
		}
		v.latest = nil
	}
	v.replay()
	if !v.Done() {
		return nil
	}
	if err := v.journal.Append(Entry{End: &End{At: a.At}}); err != nil {
		return fmt.Errorf(words().Problem.EndNotKept, err)
	}
	return nil
}

// askedAgain reports whether the step is the one to ask now though it was
// answered before: the array isolated a second time, say.
func (v *Visit) askedAgain(step string) bool {
	before := slices.ContainsFunc(v.history, func(a Answer) bool { return a.Step == step && a.Kind != Note && !a.void })
	if !before {
		return false
	}
	next, _, ok := v.next()
	return ok && next.ID == step
}

// replay makes the state and the readings of the whole history.
func (v *Visit) replay() {
	var outcomes []procedure.Outcome
	for _, a := range v.history {
		if a.stands() || a.Kind == Stop {
			outcomes = append(outcomes, a.outcome())
		}
	}
	v.state = v.course.Replay(outcomes)
	v.believe()
	v.readings = v.readingsOf(v.leftAnswers())
}

// staleAfter is how long the light and the temperature of the modules hold (a choice of
// this project).
const staleAfter = 20 * time.Minute

// leftAnswers are the answers that hold of the plant as it is now, and since when: what
// a repair puts in doubt holds no longer, nor does the light of long ago.
func (v *Visit) leftAnswers() ([]Answer, time.Time) {
	repaired := v.repairsDone()
	if len(repaired) == 0 {
		return v.Answers(), v.head.StartedAt
	}
	var list []Answer
	for i, a := range v.history {
		if !a.stands() {
			continue
		}
		list = slices.DeleteFunc(list, func(b Answer) bool { return b.Step == a.Step })
		list = append(list, a)
		if !slices.Contains(repaired, i) {
			continue
		}
		otherwise := v.worksOtherwise(i)
		renewed := v.course.Renewed(a.Step)
		list = slices.DeleteFunc(list, func(b Answer) bool {
			light := b.Reading == reading.Irradiance || b.Reading == reading.ModuleC
			return b.Reading != "" && (slices.Contains(renewed, b.Reading) || light && a.At.Sub(b.At) > staleAfter) || otherwise && v.ofTheFault(b)
		})
	}
	return list, v.history[repaired[len(repaired)-1]].At
}

func (a Answer) outcome() procedure.Outcome {
	o := procedure.Outcome{Step: a.Step, Kind: procedure.Done, Chosen: a.Chosen, Why: a.Why, Reason: a.Reason, Again: a.Again || a.Repeats && a.Kind == Stop}
	switch a.Kind {
	case Cannot:
		o.Kind = procedure.Cannot
	case Stop:
		o.Kind = procedure.Stop
	}
	o.Yes, o.Word = a.Word == yes, a.Word
	if a.Number != nil {
		o.Value = *a.Number
	}
	for _, x := range a.List {
		o.Value = max(o.Value, x)
	}
	return o
}

// readingsOf makes the readings of answers that hold from a moment on.
func (v *Visit) readingsOf(answers []Answer, from time.Time) *reading.Set {
	set := reading.NewSet()
	set.TakenAt = from
	if i := slices.IndexFunc(answers, func(a Answer) bool { return a.Kind == Took && !a.At.Before(from) }); i >= 0 {
		set.TakenAt = answers[i].At
	}
	if v.head.Depth == CallOut && slices.ContainsFunc(answers, func(a Answer) bool { return a.Step == complaintStep }) {
		set.Words[reading.Visit] = "call-out"
	}
	for m, in := range soundInstruments(v.head.Instruments) {
		set.Instruments[m] = in
	}
	for _, a := range answers {
		if by := v.course.Trust(a.Step, a.Chosen); by > 1 {
			in := set.Instruments[reading.Voltmeter]
			in.Percent, in.Digits, in.PlusMinus = in.Percent*by, in.Digits*by, in.PlusMinus*by
			set.Instruments[reading.Voltmeter] = in
		}
		if v.Usable(a) {
			a.addTo(set)
			v.note(a, set)
		}
	}
	return set
}

// note adds what the choices of an answer make of readings.
func (v *Visit) note(a Answer, set *reading.Set) {
	s, ok := v.course.Step(a.Step)
	if !ok || a.Kind != Took {
		return
	}
	if looked, seen := s.Signs(a.Chosen); len(looked) > 0 {
		set.Looked = append(set.Looked, looked...)
		set.Several[reading.Seen] = append(set.Several[reading.Seen], seen...)
	}
	switch spec, ok := reading.SpecOf(s.Notes); {
	case !ok:
	case spec.Form == reading.YesNo:
		set.Words[s.Notes] = strconv.FormatBool(len(a.Chosen) > 0)
	default:
		set.Several[s.Notes] = append([]string{}, a.Chosen...)
	}
}

// loadsOn is the step that names the loads that are on.
const loadsOn = "loads-on"

func (a Answer) addTo(set *reading.Set) {
	if _, _, ok := a.Reading.Node(); ok { // it tells where a fault lies, not which
		return
	}
	switch {
	case a.Kind == Cannot && a.Reading != "":
		set.NotTaken = append(set.NotTaken, a.Reading)
	case a.Kind != Took:
		return
	case a.Number != nil:
		set.Numbers[a.Reading] = *a.Number
	case a.List != nil:
		set.Lists[a.Reading] = slices.Clone(a.List)
	case a.Word != "":
		set.Words[a.Reading] = a.Word
	case a.Step == loadsOn:
		set.LoadsOn = append([]string{}, a.Chosen...)
	}
	if a.Doubted {
		set.Doubted[a.Reading] = true
	}
}

// Answers is the standing answer of each step, in the order of first answering:
// what was found, where a reading was taken once more after mending.
func (v *Visit) Answers() []Answer {
	var list []Answer
	at := map[string]int{}
	for i, a := range v.history {
		if !a.stands() || v.proves(i) {
			continue
		}
		if i, ok := at[a.Step]; ok {
			list[i] = a
			continue
		}
		at[a.Step] = len(list)
		list = append(list, a)
	}
	return list
}

// lastStep is the step answered last, "" for none.
func (v *Visit) lastStep() string {
	for _, a := range slices.Backward(v.history) {
		if a.Kind != Note {
			return a.Step
		}
	}
	return ""
}

// History is every answer and note in the order given.
func (v *Visit) History() []Answer { return slices.Clone(v.history) }

// Notes are the notes in the order given.
func (v *Visit) Notes() []Answer {
	return slices.DeleteFunc(v.History(), func(a Answer) bool { return a.Kind != Note })
}

// Done reports whether nothing is left to do.
func (v *Visit) Done() bool { return v.Prompt().Done }
