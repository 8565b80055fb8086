package procedure

import (
	"fmt"
	"slices"

	"github.com/stretchr/testify/assert"
)

// everyNth state of a walk is also one from which answers are taken back.
const everyNth = 499

// afterBack is added to what is broken only once an answer was taken back.
const afterBack = ", after going back"

// answered is the plant after o was answered to s.
func (w plantState) answered(s Step, o Outcome) plantState {
	w = w.after(s.ID, s.Kind, o, o.Kind == Done && o.Yes == (s.Good == "yes"))
	if _, _, finds := s.Reading.Node(); s.Kind == Take && o.Kind != Stop && !finds {
		w.rung = max(w.rung, rungOf(s.Reading))
	}
	return w
}

// goBack resumes the visit that led to n from its answers alone, and then
// answers each of a few earlier steps again, in every class of answer. However
// that turns out, the visit goes on by the same rules to its end.
func (w *walk) goBack(n node) {
	w.backs++
	if st := w.believed(w.p.Replay(w.path), n.phase); !assert.ObjectsAreEqual(n.st, st) && len(w.path) > 0 {
		w.fail("a resumed visit stands elsewhere", fmt.Sprint(w.path))
		return
	}
	if len(w.path) == 0 {
		return
	}
	last := len(w.path) - 1
	for _, at := range []int{last, last - len(w.seen)/everyNth%len(w.path)} {
		s, _ := w.p.Step(w.path[at].Step)
		for _, o := range w.answers(s) {
			w.backs++
			w.goOn(append(slices.Clone(w.path), o), n.phase)
		}
	}
}

// goOn ends a corrected visit with good answers, checking each step.
func (w *walk) goOn(history []Outcome, phase int) {
	st, plant, after := w.p.Replay(history), w.plantOf(history), history[len(history)-1].Step
	for range 5 * len(w.p.Steps) {
		st = w.believed(st, phase)
		plant.believed = w.hazardOf(plant, phase)
		i, _, ok := w.p.next(st, Search{Worth: w.worths[phase], After: after}, w.aims(st, phase)...)
		if !ok {
			if what := plant.checkEnd(w.p, st); what != "" {
				w.fail(what+afterBack, fmt.Sprintf("%+v", plant))
			}
			return
		}
		s := w.p.Steps[i]
		plant.rung = 0
		if what := plant.check(s, w.absent, false); what != "" {
			w.fail(what+afterBack, fmt.Sprintf("%s in %+v", s.ID, plant))
			return
		}
		o := good(s)
		st, plant, after = w.p.Apply(st, o), plant.answered(s, o), s.ID
	}
	w.fail("a path that does not end"+afterBack, fmt.Sprint(history))
}

// plantOf is the plant after a history with corrections: what was answered
// again takes the place of the last answer, unless the step was asked again. A
// stop while putting back or leaving undoes nothing.
func (w *walk) plantOf(history []Outcome) plantState {
	var stands []Outcome
	for _, o := range history {
		at := len(stands) - 1
		for at >= 0 && (stands[at].Step != o.Step || w.stopsLate(stands[at])) {
			at--
		}
		if at < 0 || o.Again || w.stopsLate(o) {
			stands = append(stands, o)
			continue
		}
		stands[at] = o
	}
	plant := w.begin()
	for _, o := range stands {
		s, _ := w.p.Step(o.Step)
		plant = plant.answered(s, o)
	}
	return plant
}

func (w *walk) stopsLate(o Outcome) bool {
	s, _ := w.p.Step(o.Step)
	return o.Kind == Stop && (s.Rung >= Restore || bitOf(undoing, o.Step) != 0)
}
