package visiting

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/field/procedure"
)

// Earlier is what an earlier visit to the same site found that may still be so.
type Earlier struct {
	ID      string    `json:"id"`
	At      time.Time `json:"at"` // of the last of the answers
	Answers []Answer  `json:"answers"`
}

// asBeforeStep asks whether all of that is still so.
const asBeforeStep = "as-before"

// holdsFor is how long an answer holds whose step holds for a day.
const holdsFor = 24 * time.Hour

// EarlierFor is what v found that may still be so at a visit begun now at the site of a
// file: nil for nothing. Nothing that tells of a danger is in it.
func EarlierFor(v *Visit, siteTOML string, now time.Time) *Earlier {
	e := &Earlier{ID: v.head.ID}
	for _, a := range v.Answers() {
		s, ok := v.course.Step(a.Step)
		switch {
		case !ok || a.Kind != Took && a.Kind != Did || a.Doubted || a.At.After(now):
			continue
		case v.state.Mark(a.Step) != procedure.Good:
			continue
		case s.Holds == procedure.HoldsDay && now.Sub(a.At) > holdsFor:
			continue
		case s.Holds == procedure.HoldsFile && siteTOML != v.head.SiteTOML, s.Holds == procedure.HoldsNot:
			continue
		}
		a.Repeats, a.Again, a.Held = false, false, false
		e.Answers = append(e.Answers, a)
		if a.At.After(e.At) {
			e.At = a.At
		}
	}
	if len(e.Answers) == 0 {
		return nil
	}
	return e
}

// Compared reports whether the visit answered a step whose answer may hold: then it, and no
// visit before it, says what is so.
func (v *Visit) Compared() bool {
	return slices.ContainsFunc(v.Answers(), func(a Answer) bool {
		s, ok := v.course.Step(a.Step)
		return ok && s.Holds != procedure.HoldsNot
	})
}

// mayHold are the answers of the earlier visit whose steps are open.
func (v *Visit) mayHold() []Answer {
	if v.head.Earlier == nil {
		return nil
	}
	return slices.DeleteFunc(slices.Clone(v.head.Earlier.Answers), func(a Answer) bool {
		s, ok := v.course.Step(a.Step)
		return !ok || s.Holds == procedure.HoldsNot || a.Kind != Took && a.Kind != Did || v.state.Mark(a.Step) != procedure.Open
	})
}

// stillSo asks about all that may hold, in place of the first step that it answers.
func (v *Visit) stillSo(next string) (Prompt, bool) {
	list := v.mayHold()
	if !slices.ContainsFunc(list, func(a Answer) bool { return a.Step == next }) || v.state.Mark(asBeforeStep) != procedure.Open {
		return Prompt{}, false
	}
	s, ok := v.course.Step(asBeforeStep)
	if !ok {
		return Prompt{}, false
	}
	p := v.prompt(s)
	p.Why = words().Earlier.Why
	return p, true
}

// withEarlier is the step with what the earlier visit found in its text.
func (v *Visit) withEarlier(s procedure.Step) procedure.Step {
	if v.head.Earlier == nil {
		return s
	}
	var found []string
	for _, a := range v.head.Earlier.Answers {
		if step, ok := v.course.Step(a.Step); ok && step.Holds != procedure.HoldsNot {
			found = append(found, fmt.Sprintf(words().Earlier.Answer, step.Title, a.Text()))
		}
	}
	s.Do = fmt.Sprintf(words().Earlier.Found, v.head.Earlier.At.Format("2 Jan 2006 15:04"), strings.Join(found, ". ")) + " " + s.Do
	return s
}

// heldBy are the answers that come with a: those of the earlier visit, where a says that
// all of them are still so.
func (v *Visit) heldBy(a Answer) []Answer {
	if a.Step != asBeforeStep || a.Kind != Did || a.Word != procedure.ActDone {
		return nil
	}
	list := v.mayHold()
	for i := range list {
		list[i].Held, list[i].At = true, a.At
	}
	return list
}

// keep puts an answer into the history. One that says that something changed takes back
// what was held.
func (v *Visit) keep(a Answer) {
	if a.Step == asBeforeStep && a.Kind != Note && !(a.Kind == Did && a.Word == procedure.ActDone) {
		for i := range v.history {
			v.history[i].void = v.history[i].Held
		}
	}
	v.history = append(v.history, a)
}
