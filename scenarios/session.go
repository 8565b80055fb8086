package scenarios

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// A Session is one trainee's free practice on one scenario: measure in any
// order, say what is believed, name what is wrong. It is not safe for use by
// several goroutines.
type Session struct {
	sc    *Scenario
	b     *virtualsite.Bench
	infer visiting.Inferrer
	who   string

	data     *data
	beliefs  []*belief.Result // before the first reading, after each
	events   []event
	weights  map[condition.ID]float64
	told     *told // nil: not told since the last reading
	question *question
	asked    []*question
	stands   map[string]string // the right answers to the standing questions, as found
	hints    int
	named    []condition.ID
	actions  []work // to choose from once something is named
	debrief  *Debrief
	guided   bool // the visit leads: nothing is asked or named here
}

// An event is one reading with what was around it.
type event struct {
	display virtualsite.Display
	title   string
	at      time.Time
	set     *reading.Set // after it
}

// told is what the trainee believed when told what the readings imply: what is
// said after it is no finding until something more is read.
type told struct {
	readings int
	weights  map[condition.ID]float64
}

// found are the weights that count.
func (s *Session) found() map[condition.ID]float64 {
	if s.told != nil && s.told.readings == len(s.events) {
		return s.told.weights
	}
	return s.weights
}

// NewSession begins a free practice of who.
func NewSession(s *Scenario, who string, infer visiting.Inferrer) *Session {
	b := s.Bench()
	return &Session{
		sc: s, b: b, infer: infer, who: who, data: newData(b), weights: map[condition.ID]float64{},
		stands: standsAt(s.Bench(), s.Truth()),
	}
}

// Bench is the site that is worked at.
func (s *Session) Bench() *virtualsite.Bench { return s.b }

// Scenario is what is practised.
func (s *Session) Scenario() *Scenario { return s.sc }

// Ended reports whether the case is closed, and so what was wrong can be told.
func (s *Session) Ended() bool { return s.debrief != nil }

// Debrief is what came out, nil before the end.
func (s *Session) Debrief() *Debrief { return s.debrief }

// Naming reports whether what is wrong was named and an action is to be chosen.
func (s *Session) Naming() bool { return s.named != nil && s.debrief == nil }

// Questioned reports whether a question waits for its answer.
func (s *Session) Questioned() bool { return s.question != nil }

// Asking is the question that waits for its answer, "" for none.
func (s *Session) Asking() string {
	if s.question == nil {
		return ""
	}
	return s.question.asks
}

// Weights are what the trainee last said to believe, 0 to 1 each.
func (s *Session) Weights() map[condition.ID]float64 { return maps.Clone(s.weights) }

// current is the belief of all that was read, worked out where it is not yet.
func (s *Session) current() (*belief.Result, error) {
	for len(s.beliefs) <= len(s.events) {
		set := newData(s.b).Set
		if n := len(s.beliefs); n > 0 {
			set = s.events[n-1].set
		} else {
			set.TakenAt, set.LoadsOn = s.sc.At, s.sc.setup.LoadsOn
		}
		r, err := s.infer(belief.Input{Site: s.sc.Site, Readings: set.Clone()})
		if err != nil {
			return nil, err
		}
		s.beliefs = append(s.beliefs, r)
	}
	return s.beliefs[len(s.beliefs)-1], nil
}

// take keeps what a display showed.
func (s *Session) take(d virtualsite.Display) {
	s.data.renew(s.b)
	if d.Reading == "" || !d.Shown {
		return
	}
	s.data.add(d)
	s.events = append(s.events, event{d, procedure.TitleOf(d.Reading), s.b.Now(), s.data.Clone()})
}

// Readings is how many readings were taken that a visit knows.
func (s *Session) Readings() int { return len(s.events) }

// measured counts those of them that an instrument gave.
func (s *Session) measured() (n int) {
	for _, e := range s.events {
		if e.display.Word == "" && e.display.Several == nil {
			n++
		}
	}
	return n
}

// errUnknown is an answer that is none.
var errUnknown = datafile.Error(func() string { return words().Problem.NotUnderstood })

// condition finds a condition of the site by its id or its number in the list.
func (s *Session) condition(word string) (condition.ID, error) {
	list := condition.Applicable(s.sc.Site)
	for i, c := range list {
		if word == string(c.ID) || word == fmt.Sprint(i+1) {
			return c.ID, nil
		}
	}
	return "", fmt.Errorf(words().Problem.NoCondition, errUnknown, word)
}

// believe takes weights in percent: "array-open 60 sound 20".
func (s *Session) believe(fields []string) ([]string, error) {
	w := map[condition.ID]float64{}
	var sum float64
	for i := 0; i+1 < len(fields); i += 2 {
		id, err := s.condition(fields[i])
		if err != nil {
			return nil, err
		}
		if w[id], err = percent(fields[i+1]); err != nil {
			return nil, err
		}
		sum += w[id]
	}
	if len(w) == 0 || len(fields)%2 != 0 {
		return nil, fmt.Errorf(words().Problem.Pairs, errUnknown)
	}
	if sum > 1.005 {
		return nil, fmt.Errorf(words().Problem.Sum, errUnknown, 100*sum)
	}
	s.weights = w
	return s.critique()
}

// percent reads a percentage as a share.
func percent(text string) (float64, error) {
	x, err := strconv.ParseFloat(strings.TrimSuffix(strings.Replace(text, ",", ".", 1), "%"), 64)
	if err != nil || !(x >= 0 && x <= 100) {
		return 0, fmt.Errorf(words().Problem.NoPercentage, errUnknown, text)
	}
	return x / 100, nil
}

// What a belief must be for the trainee's readings to speak against a weight
// given, or for a condition that got none (choices of this project).
const (
	littleRoom   = 0.02
	muchSupport  = 0.4
	weightGiven  = 0.15
	weightMissed = 0.1
)

// critique holds the weights against what the readings already imply.
func (s *Session) critique() ([]string, error) {
	r, err := s.current()
	if err != nil {
		return nil, err
	}
	t := words().Session
	lines := []string{t.Believed}
	fits := true
	for _, c := range r.Conditions {
		title := condition.Of(c.ID).Title
		switch w := s.weights[c.ID]; {
		case w >= weightGiven && c.P <= littleRoom:
			lines = append(lines, fmt.Sprintf(t.AgainstIt, title, quantity.Percent(c.P)))
			fits = false
		case w < weightMissed && c.P >= muchSupport:
			lines = append(lines, fmt.Sprintf(t.ForIt, title, quantity.Percent(c.P)))
			fits = false
		}
	}
	if fits {
		lines = append(lines, t.Fits)
	}
	return lines, nil
}

// implied is what the readings so far imply, on request: to those who said first
// what they believe.
func (s *Session) implied() ([]string, error) {
	t := words().Session
	switch {
	case len(s.events) == 0:
		return []string{t.NothingRead}, nil
	case len(s.weights) == 0:
		return []string{t.BelieveFirst}, nil
	}
	r, err := s.current()
	if err != nil {
		return nil, err
	}
	if s.told == nil || s.told.readings != len(s.events) {
		s.told = &told{len(s.events), s.Weights()}
	}
	lines := []string{t.Implied}
	for _, st := range visiting.Leading(r, nil, 5, 0.02) {
		lines = append(lines, fmt.Sprintf("  %s: %s", st.Title, quantity.Percent(st.P)))
	}
	lines = append(lines, visiting.StateLine(s.sc.Site, r))
	if text := s.together(len(s.events) - 1); text != "" {
		lines = append(lines, fmt.Sprintf(t.Together, text))
	}
	course := procedure.For(s.sc.Site)
	for _, because := range visiting.Because(r, s.data.Set, course, 3) {
		lines = append(lines, "- "+because)
	}
	return append(lines, t.ToldNow), nil
}

// together is what the readings up to the i-th tell together.
func (s *Session) together(i int) string {
	e := s.events[i]
	return visiting.Together(s.sc.Site, s.beliefs[i+1], s.beliefs[i], e.set, e.display.Reading).Text
}

// hint gives the next grade.
func (s *Session) hint() ([]string, error) {
	t := words().Session
	if s.hints >= hintsOf {
		return []string{t.NoMoreHints}, nil
	}
	text := ""
	if len(s.sc.hints) > s.hints {
		text = s.sc.hints[s.hints]
	} else if text = words().Generated.Hints[s.hints]; strings.Contains(text, "%s") {
		r, err := s.current()
		if err != nil {
			return nil, err
		}
		next, _ := s.next(r, s.data.Set)
		text = fmt.Sprintf(text, next)
	}
	s.hints++
	return []string{fmt.Sprintf(t.Hint, s.hints, hintsOf, hintCost[s.hints-1], text)}, nil
}

// next is what an informed person would read next, in words and by its key; "" if
// nothing is worth it.
func (s *Session) next(r *belief.Result, set *reading.Set) (string, reading.Key) {
	course := procedure.For(s.sc.Site)
	worth := func(k reading.Key) float64 {
		i := slices.IndexFunc(r.Gains, func(g belief.Gain) bool { return g.Reading == k })
		if i < 0 {
			return 0
		}
		return r.Gains[i].Bits
	}
	step, ok := course.NextReading(set.Has, worth)
	if !ok {
		return words().Session.NoNext, ""
	}
	return step.Title, step.Reading
}
