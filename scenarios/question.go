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

// A question asks what the reading just taken tells. Its answer is judged by
// the belief before and after the reading, not by a key.
type question struct {
	title   string
	choices []condition.ID // "" stands for: hardly anything
	right   []int
	answer  int // -1 while it waits
}

// askEvery is after how many readings of an instrument a question is asked.
const askEvery = 3

// What a reading must do to the belief to tell something (choices of this
// project): move a condition by tells; a rise within near of the largest is as
// right an answer.
const (
	tells = 0.08
	near  = 0.6
)

// ask makes the question about the reading between two beliefs. The choices are
// those that stood or stand highest.
func ask(title string, before, after *belief.Result) *question {
	q := &question{title: title, answer: -1}
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
	ids = ids[:min(len(ids), 4)]
	order := condition.All()
	for _, c := range order { // in the catalogue's order, which tells nothing
		if slices.Contains(ids, c.ID) {
			q.choices = append(q.choices, c.ID)
		}
	}
	q.choices = append(q.choices, "")
	top := 0.0
	for _, id := range q.choices[:len(q.choices)-1] {
		top = max(top, after.Of(id)-before.Of(id))
	}
	moved := 0.0
	for _, c := range after.Conditions {
		moved = max(moved, math.Abs(c.P-before.Of(c.ID)))
	}
	if top < tells || moved < tells {
		q.right = []int{len(q.choices) - 1}
		return q
	}
	for i, id := range q.choices[:len(q.choices)-1] {
		if after.Of(id)-before.Of(id) >= near*top {
			q.right = append(q.right, i)
		}
	}
	return q
}

// lines are the question as it is asked.
func (q *question) lines() []string {
	t := words().Session
	lines := []string{fmt.Sprintf(t.Question, q.title)}
	for i := range q.choices {
		lines = append(lines, fmt.Sprintf("  %d %s", i+1, q.choice(i)))
	}
	return append(lines, t.QuestionHow)
}

func (q *question) choice(i int) string {
	if q.choices[i] == "" {
		return words().Session.TellsLittle
	}
	return fmt.Sprintf(words().Session.TellsFor, condition.Of(q.choices[i]).Title)
}

func (q *question) good() bool { return slices.Contains(q.right, q.answer) }

// answered takes the answer to the open question.
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
	if q.good() {
		return []string{t.GoodAnswer}, nil
	}
	return []string{fmt.Sprintf(t.BadAnswer, q.choice(q.right[0]))}, nil
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
