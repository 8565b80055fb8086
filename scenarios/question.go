package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
)

// A question is asked of a trainee, with answers to choose from: what the reading just taken
// tells, judged by the belief before and after it, or one of the standing questions, judged
// by what is so.
type question struct {
	title    string
	asks     string // the whole question
	choices  []string
	points   []float64 // of each choice, 0 to 1
	right    []int     // the choices that are as good as any
	answer   int       // -1 while it waits
	standing *standingQuestion
}

// askEvery is after how many readings of an instrument a question is asked.
const askEvery = 3

// What a reading must do to the belief to tell something (choices of this project): move a
// condition or a state by tells, or narrow the charge level by as much; a rise within near
// of the largest is as right an answer.
const (
	tells = 0.08
	near  = 0.6
)

// askedConditions are those that a question offers at most, askedStates the states.
const (
	askedConditions = 4
	askedStates     = 2
)

// ask makes the question about the reading between two beliefs. The choices are the
// conditions that stood or stand highest, the states that moved most, and that it shows
// hardly anything.
func ask(title string, before, after *belief.Result) *question {
	w := words().Session
	q := &question{title: title, asks: fmt.Sprintf(w.Question, title), answer: -1}
	var ids []condition.ID
	add := func(r *belief.Result, n int) {
		for _, c := range r.Conditions[:min(n, len(r.Conditions))] {
			if !slices.Contains(ids, c.ID) {
				ids = append(ids, c.ID)
			}
		}
	}
	add(after, 2)
	add(before, 3)
	ids = ids[:min(len(ids), askedConditions)]
	top, moved := 0.0, 0.0
	for _, id := range ids {
		top = max(top, after.Of(id)-before.Of(id))
	}
	for _, c := range after.Conditions {
		moved = max(moved, math.Abs(c.P-before.Of(c.ID)))
	}
	choose := func(text string, right bool) {
		if right {
			q.right = append(q.right, len(q.choices))
		}
		q.choices = append(q.choices, text)
	}
	for _, c := range condition.All() { // in the catalogue's order, which tells nothing
		if slices.Contains(ids, c.ID) {
			rise := after.Of(c.ID) - before.Of(c.ID)
			choose(fmt.Sprintf(w.TellsFor, c.Title), top >= tells && moved >= tells && rise >= near*top)
		}
	}
	for _, s := range movedMost(before, after) {
		choose(w.TellsState[s.id], s.by >= tells)
	}
	choose(w.TellsLittle, len(q.right) == 0)
	q.points = make([]float64, len(q.choices))
	for _, i := range q.right {
		q.points[i] = 1
	}
	return q
}

// A stateMove is by how much a belief in a state has moved.
type stateMove struct {
	id string
	by float64
}

// movedMost are the states that moved most between two beliefs, in a fixed order.
func movedMost(before, after *belief.Result) []stateMove {
	a, b := before.State, after.State
	by := func(x, y float64) float64 {
		if d := math.Abs(x - y); !math.IsNaN(d) {
			return d
		}
		return 0
	}
	width := func(s belief.State) float64 { return s.ChargeLevel.P95 - s.ChargeLevel.P05 }
	list := []stateMove{
		{"daylight", by(a.Daylight, b.Daylight)}, {"charging", by(a.Charging, b.Charging)}, {"regulating", by(a.Regulating, b.Regulating)},
		{"loads_cut", by(a.LoadsCut, b.LoadsCut)}, {"full", max(by(a.ChargeLevel.Mean, b.ChargeLevel.Mean), max(width(a)-width(b), 0))},
	}
	sorted := slices.Clone(list)
	slices.SortStableFunc(sorted, func(x, y stateMove) int {
		switch {
		case x.by > y.by:
			return -1
		case x.by < y.by:
			return 1
		}
		return 0
	})
	most := sorted[:askedStates]
	return slices.DeleteFunc(list, func(s stateMove) bool { return !slices.Contains(most, s) })
}

// lines are the question as it is asked.
func (q *question) lines() []string {
	lines := []string{q.asks}
	for i, c := range q.choices {
		lines = append(lines, fmt.Sprintf("  %d %s", i+1, c))
	}
	return append(lines, words().Session.QuestionHow)
}

func (q *question) good() bool { return slices.Contains(q.right, q.answer) }

// answered takes the answer to the open question. Of a standing question it says nothing:
// what is so is told at the end.
func (s *Session) answered(text string) ([]string, error) {
	q := s.question
	if q == nil {
		return nil, fmt.Errorf(words().Problem.NoQuestion, errUnknown)
	}
	n, err := strconv.Atoi(strings.TrimSpace(text))
	if err != nil || n < 1 || n > len(q.choices) {
		return nil, fmt.Errorf(words().Problem.NoAnswer, errUnknown, text, len(q.choices))
	}
	q.answer, s.question = n-1, nil
	t := words().Session
	switch {
	case q.standing != nil:
		return s.standing(), nil
	case q.good():
		return []string{t.GoodAnswer}, nil
	}
	return []string{fmt.Sprintf(t.BadAnswer, q.choices[q.right[0]])}, nil
}

// openQuestion asks about the last reading.
func (s *Session) openQuestion() ([]string, error) {
	if _, err := s.current(); err != nil {
		return nil, err
	}
	n := len(s.events)
	s.question = ask(s.events[n-1].title+" "+s.events[n-1].display.Text, s.beliefs[n-1], s.beliefs[n])
	s.asked = append(s.asked, s.question)
	return s.question.lines(), nil
}

// standing asks the next standing question that was not asked yet, once something is named;
// after the last it offers what to do.
func (s *Session) standing() []string {
	n := 0
	for _, q := range s.asked {
		if q.standing != nil {
			n++
		}
	}
	if all := standingQuestions(); n < len(all) {
		s.question = askStanding(&all[n], s.stands[all[n].ID])
		s.asked = append(s.asked, s.question)
		return s.question.lines()
	}
	return s.toDo()
}

// How probable an answer is that is said to be sure, or likely (choices of this project).
const (
	saidSure   = 0.95
	saidLikely = 0.75
)

// askStanding makes a standing question of its answer. Each choice stands for
// probabilities of the answers and has one minus their quadratic score, so that it pays to
// say what one believes (see [Brier]).
func askStanding(of *standingQuestion, truth string) *question {
	w := words().Session
	q := &question{title: of.Ask, asks: fmt.Sprintf(w.Standing, of.Ask), answer: -1, standing: of}
	n := float64(len(of.Answer))
	choose := func(text, id string, p float64) {
		sum := 0.0
		for _, a := range of.Answer {
			x := (1 - p) / (n - 1)
			if a.ID == id {
				x = p
			}
			if a.ID == truth {
				x = 1 - x
			}
			sum += x * x / 2
		}
		if id == truth {
			q.right = append(q.right, len(q.choices))
		}
		q.choices, q.points = append(q.choices, text), append(q.points, 1-sum)
	}
	for _, a := range of.Answer {
		choose(fmt.Sprintf(w.Sure, a.Text), a.ID, saidSure)
		choose(fmt.Sprintf(w.Likely, a.Text), a.ID, saidLikely)
	}
	choose(w.CannotTell, "", 0)
	q.points[len(q.points)-1] = 1 - even(n)
	return q
}

// even is the quadratic score of n answers held equally probable.
func even(n float64) float64 {
	p := 1 / n
	return ((1-p)*(1-p) + (n-1)*p*p) / 2
}
