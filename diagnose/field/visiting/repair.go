package visiting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/field/halfsplit"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// ToDo lists what to do about the condition of p, best first. What should wait
// until p is surer, or until a reading that this site's visit can take is
// taken, is not in it.
func ToDo(p belief.Posterior, in belief.Input, course *procedure.Procedure) []condition.Action {
	taken := func(k reading.Key) bool {
		_, ok := course.StepFor(k)
		return in.Readings.Has(k) || !ok
	}
	return condition.OfSite(p.ID, in.Site).ToDo(in.Site.Battery.Chemistry, p.P, taken)
}

// The steps of a repair: repairStep asks whether it is done now; then the step of its
// place, repairNowStep and its like, asks for it with what must be off.
const (
	repairStep    = "repair"
	repairNowStep = "mended"
)

// repairFrom is the probability from which a repair is offered (a choice of this project).
const repairFrom = 0.5

// A deed is an action that may be done now.
type deed struct {
	condition.Action
	of    condition.ID
	worth float64 // probability times benefit [1/min]
}

// key names a deed in a journal: "array-open/fuse".
func (d deed) key() string { return string(d.of) + "/" + d.ID }

// step is the step that asks for the deed.
func (d deed) step() string {
	if d.At == "" || d.At == "any" {
		return repairNowStep
	}
	return repairNowStep + "-" + d.At
}

func isRepairNow(step string) bool {
	return step == repairNowStep || strings.HasPrefix(step, repairNowStep+"-")
}

// deedOf finds a deed by its key.
func deedOf(key string) (deed, bool) {
	id, action, _ := strings.Cut(key, "/")
	for _, a := range condition.ActionsOf(condition.ID(id)) {
		if a.Done != "" && a.ID == action {
			return deed{Action: a, of: condition.ID(id)}, true
		}
	}
	return deed{}, false
}

// deedsDone are what an answer says was done; in an old journal that may be one of several.
func deedsDone(a Answer) []deed {
	if !isRepairNow(a.Step) || a.Kind != Did || a.Word != procedure.ActDone {
		return nil
	}
	if d, ok := deedOf(a.Action); ok {
		return []deed{d}
	}
	var list []deed
	for _, key := range a.Chosen {
		if d, ok := deedOf(key); ok {
			list = append(list, d)
		}
	}
	return list
}

// deeds are the actions that mend what is likely wrong and that field staff or
// the caretaker may do, best first: by the chance that each mends it, over its
// minutes and risk. What was done or declined in this visit is not among them, nor
// what cannot be reached safely in it, for want of a switch or of insulated tools;
// what was agreed to and waits stands first.
func (v *Visit) deeds() []deed {
	if v.latest == nil || v.state.Stopped != "" {
		return nil
	}
	done, declined, agreed := map[string]bool{}, map[condition.ID]bool{}, ""
	for _, a := range v.history {
		if !a.stands() || a.Step != repairStep && !isRepairNow(a.Step) {
			continue
		}
		for _, d := range deedsDone(a) {
			done[d.key()], agreed = true, ""
		}
		d, ok := deedOf(a.Action)
		switch {
		case !ok && (a.Step == repairStep || a.Word != procedure.ActDone): // "nothing now" of an earlier version
			return nil
		case ok && a.Step == repairStep && a.Word == procedure.ActDone:
			agreed = a.Action
		case ok && a.Word != procedure.ActDone:
			declined[d.of], agreed = true, ""
		}
	}
	if d, ok := deedOf(agreed); ok && v.course.Reaches(v.state, d.step()) {
		return []deed{d}
	}
	var list []deed
	for _, p := range v.latest.Conditions {
		if p.ID == condition.Sound || p.P < repairFrom || declined[p.ID] {
			continue
		}
		for _, a := range ToDo(p, v.Input(), v.course) {
			d := deed{a, p.ID, p.P * a.Benefit() * v.atPlace(p.ID, a, v.site.Battery.Chemistry)}
			if a.Done != "" && a.Who != condition.Licensed && !done[d.key()] && v.course.Reaches(v.state, d.step()) {
				list = append(list, d)
			}
		}
	}
	slices.SortStableFunc(list, func(a, b deed) int {
		switch {
		case a.worth > b.worth:
			return -1
		case a.worth < b.worth:
			return 1
		default:
			return 0
		}
	})
	return list
}

// agreedTo reports whether the person said that the deed is done now.
func (v *Visit) agreedTo(d deed) bool {
	for i := len(v.history) - 1; i >= 0; i-- {
		if a := v.history[i]; a.stands() && a.Action == d.key() {
			return a.Step == repairStep && a.Word == procedure.ActDone
		}
	}
	return false
}

// aims are the steps that the visit leads to once nothing is worth measuring: the
// reading that proves the last repair, or else the next repair.
func (v *Visit) aims() []string {
	if step, _, ok := v.proving(); ok {
		return []string{step}
	}
	list := v.deeds()
	if len(list) == 0 {
		return nil
	}
	if v.agreedTo(list[0]) {
		return []string{list[0].step()}
	}
	if step, ok := v.finding(list[0].of); ok {
		return []string{step, repairStep}
	}
	return []string{repairStep}
}

// withDeed is a step of a repair with its action in it: what it is, with what tools,
// how long it takes, who may, and what to beware of.
func (v *Visit) withDeed(s procedure.Step, d deed) procedure.Step {
	w := words().Repair
	s.Caution = strings.TrimSpace(d.Caution + " " + s.Caution)
	s.Who, s.Minutes = d.Who.Text(), d.Minutes
	s.Do = d.Do + " " + s.Do
	if p, ok := v.Place(d.of); ok && p.Found() {
		part := p.Left[0].Part
		repair := part.Repair
		if circuits[d.of].fault == halfsplit.Joint {
			repair = part.RepairJoint
		}
		s.Caution = strings.TrimSpace(part.Caution + " " + s.Caution)
		d.Do = fmt.Sprintf(w.At, part.Title, quantity.Percent(p.Left[0].P), repair)
		s.Do = d.Do
	}
	if s.ID == repairStep {
		s.Do = fmt.Sprintf(w.Ask, d.Do, d.With, d.Minutes, d.Who.Text())
		return s
	}
	return s.Offering(procedure.Choice{ID: d.key(), Text: d.Done})
}

// mendings are the places in the history of the answers that something was mended.
func (v *Visit) repairsDone() []int {
	var list []int
	for i, a := range v.history {
		if a.stands() && len(deedsDone(a)) > 0 && !v.replaced(i) {
			list = append(list, i)
		}
	}
	return list
}

// replaced reports whether a later answer corrects the i-th.
func (v *Visit) replaced(i int) bool {
	a := v.history[i]
	for _, b := range v.history[i+1:] {
		if b.Step == a.Step && b.stands() && !b.Again && !b.Repeats {
			return true
		}
	}
	return false
}

// repairedAt is the place in the history of the last answer that something was mended,
// -1 where nothing was. What is read after it shows another plant.
func (v *Visit) repairedAt() int {
	if list := v.repairsDone(); len(list) > 0 {
		return list[len(list)-1]
	}
	return -1
}

// Mended is what was mended in the visit, in words; "" for nothing.
func (v *Visit) Mended() string {
	var list []string
	for _, i := range v.repairsDone() {
		list = append(list, v.history[i].Text())
	}
	return strings.Join(list, "; ")
}

// proves reports whether the i-th answer is a reading of the plant after something was
// mended. It stands beside what was found.
func (v *Visit) proves(i int) bool {
	a := v.history[i]
	if a.Kind != Took || a.Reading == "" {
		return false
	}
	list := v.repairsDone()
	if len(list) == 0 || i < list[0] {
		return false
	}
	before := slices.ContainsFunc(v.history[:list[0]], func(b Answer) bool { return b.Step == a.Step && b.Kind == Took })
	return a.Repeats || a.Again || !before
}

// proving is the step of the reading that proves the last repair, and what it shows
// if that worked; false where it was taken, or there is nothing to prove.
func (v *Visit) proving() (step, shows string, ok bool) {
	at := v.repairedAt()
	if at < 0 || v.state.Stopped != "" {
		return "", "", false
	}
	for _, d := range deedsDone(v.history[at]) {
		s, ok := v.course.StepFor(d.Proof.Reading)
		if ok && !v.provedAfter(s.ID, at) {
			return s.ID, d.Proof.Shows, true
		}
	}
	return "", "", false
}

// proof asks for the reading that proves what was mended, once the plant stands as it
// did when that was first taken.
func (v *Visit) proof() (Prompt, bool) {
	id, shows, ok := v.proving()
	if !ok {
		return Prompt{}, false
	}
	step, _ := v.course.Step(id)
	why := strings.ReplaceAll(words().Repair.Proof, "{shows}", shows)
	if v.course.Repeatable(v.state, id) {
		return v.once(step, why), true
	}
	return Prompt{}, false
}

// provedAfter reports whether the reading of the step was asked for once more
// after the answer at.
func (v *Visit) provedAfter(step string, at int) bool {
	return slices.ContainsFunc(v.history[at+1:], func(a Answer) bool { return a.Step == step && a.Kind != Note })
}

// worksOtherwise reports whether the reading that proves the repair at i of the history shows
// another plant than before: not what it showed as found nor, where it was not taken then,
// nothing at all. A word that was seen counts, whatever it says.
func (v *Visit) worksOtherwise(i int) bool {
	for _, d := range deedsDone(v.history[i]) {
		s, _ := v.course.StepFor(d.Proof.Reading)
		var before, after *Answer
		for j, a := range v.history {
			switch {
			case a.Step != s.ID || a.Kind != Took || !a.stands():
			case j < i:
				before = &v.history[j]
			default:
				after = &v.history[j]
			}
		}
		if after == nil {
			continue
		}
		if after.Number == nil {
			return true
		}
		was := 0.
		if before != nil && before.Number != nil {
			was = *before.Number
		}
		spec, _ := reading.SpecOf(d.Proof.Reading)
		in, ok := soundInstruments(v.head.Instruments)[spec.Meter]
		if !ok {
			in = reading.DefaultInstruments()[spec.Meter]
		}
		if math.Abs(*after.Number-was) > in.Limit(was)+in.Limit(*after.Number) {
			return true
		}
	}
	return false
}

// ofTheFault reports whether an answer tells of the plant before it was repaired: why
// somebody came, what people told, which loads did not work. It holds no longer once the
// repair is seen to have changed something.
func (v *Visit) ofTheFault(a Answer) bool {
	s, _ := v.course.Step(a.Step)
	told := []reading.Key{reading.Complaint, reading.Changed, reading.NotWorking}
	return a.Reading == reading.Visit || slices.Contains(told, s.Notes)
}

// A Repair is something mended in the visit, and whether that worked.
type Repair struct {
	Condition condition.ID
	Action    condition.Action
	Outcome   RepairOutcome
}

// A RepairOutcome is how a repair came out.
type RepairOutcome string

// The outcomes. What is believed of the plant as left decides.
const (
	Worked   RepairOutcome = "worked"
	Failed   RepairOutcome = "failed"
	Unproved RepairOutcome = "unproved" // its reading was not taken, or does not decide
)

// provedBelow and failedFrom are the probabilities of the mended condition, in the
// plant as left, at which a repair has worked or has not (a choice of this project).
const (
	provedBelow = 0.2
	failedFrom  = 0.5
)

// Repairs are what was mended in the visit, in its order, each judged by the belief in
// the plant as left. One that was followed by another for the same condition failed.
func (v *Visit) Repairs() []Repair {
	var list []Repair
	at := v.repairsDone()
	for n, i := range at {
		for _, d := range deedsDone(v.history[i]) {
			r := Repair{Condition: d.of, Action: d.Action, Outcome: Unproved}
			again := slices.ContainsFunc(at[n+1:], func(j int) bool {
				return slices.ContainsFunc(deedsDone(v.history[j]), func(e deed) bool { return e.of == d.of })
			})
			s, ok := v.course.StepFor(d.Proof.Reading)
			proved := ok && slices.ContainsFunc(v.history[i+1:], func(a Answer) bool { return a.Step == s.ID && a.Kind == Took })
			switch {
			case again:
				r.Outcome = Failed
			case v.latest == nil || !proved:
			case v.latest.Of(d.of) >= failedFrom:
				r.Outcome = Failed
			case v.latest.Of(d.of) < provedBelow && v.worksOtherwise(i):
				r.Outcome = Worked
			}
			list = append(list, r)
		}
	}
	return list
}

// repairWorked reports whether what was mended last is proven.
func (v *Visit) repairWorked() bool {
	list := v.Repairs()
	return len(list) > 0 && list[len(list)-1].Outcome == Worked
}
