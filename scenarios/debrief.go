package scenarios

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/scenarios/virtualsite"
)

// A Debrief is what came out of a session: what was wrong, the score, and the
// case reading by reading.
type Debrief struct {
	Truth, Named []condition.ID
	Right        bool // named all that was wrong and no more
	Action       string
	ActionRight  bool
	Score        practicelog.Score
	Method       bool    // a question was asked, so that method counts
	Real         float64 // the part of all points that counts, by how much was measured
	Rows         []Row
	Breaches     []virtualsite.Breach
	Hints        int
	Informed     Play
	Learn        string
	Weights      map[condition.ID]float64

	scenario  *Scenario
	questions []*question
	stands    map[string]string
	beliefs   []*belief.Result
}

// A Row is one reading of the replay.
type Row struct {
	Reading string   // title and value
	Before  []string // what was still possible, most probable first, "Title 62 %"
	After   []string
	Tells   string // what the readings up to it tell together
	Next    string // what an informed person would have read there
	Same    bool   // it was read
}

// finish closes the case: the belief after each reading, the informed order on
// the same scenario, and the score.
func (s *Session) finish(action work) error {
	s.b.Leave()
	if _, err := s.current(); err != nil {
		return err
	}
	informed, err := Informed(s.sc, s.infer, MostReadings)
	if err != nil {
		return err
	}
	truth := s.sc.Truth()
	d := &Debrief{
		Truth: truth, Named: s.named, Action: action.do, Breaches: s.b.Breaches(), Hints: s.hints,
		Informed: informed, Learn: s.sc.learn, scenario: s.sc, questions: s.asked, stands: s.stands, beliefs: s.beliefs,
	}
	d.Right = sameConditions(s.named, truth)
	d.ActionRight = slices.ContainsFunc(truth, func(id condition.ID) bool {
		return slices.ContainsFunc(condition.ActionsOf(id), func(a condition.Action) bool { return a.Key(id) == action.key })
	})
	d.Weights = s.found()
	if len(d.Weights) == 0 { // who says nothing else is sure of what was named
		d.Weights = map[condition.ID]float64{}
		for _, id := range s.named {
			d.Weights[id] = 1 / float64(len(s.named))
		}
	}
	for i, e := range s.events {
		set := newData(s.b).Set
		if i > 0 {
			set = s.events[i-1].set
		}
		next, same := s.next(s.beliefs[i], set)
		d.Rows = append(d.Rows, Row{
			Reading: plaintext.Clean(e.title + ": " + e.display.Text),
			Before:  possible(s.beliefs[i]), After: possible(s.beliefs[i+1]), Tells: s.together(i),
			Next: next, Same: same == e.display.Reading,
		})
	}
	d.score(s)
	s.debrief = d
	return nil
}

// actionShare is the part of the points of the findings that the action has
// (a choice of this project).
const actionShare = 0.2

func (d *Debrief) score(s *Session) {
	var could []condition.ID
	for _, c := range condition.Applicable(s.sc.Site) {
		could = append(could, c.ID)
	}
	sc := &d.Score
	sc.Safety = safety(d.Breaches)
	sc.Findings = maxFindings * (1 - actionShare) * (1 - Brier(d.Weights, could, d.Truth))
	if d.ActionRight {
		sc.Findings += maxFindings * actionShare
	}
	sc.Economy = economy(len(s.events), len(d.Informed.Taken), d.Right)
	sc.Method, d.Method = method(s.asked)
	d.Real = real(s.measured(), d.Informed.measured())
	for _, part := range []*float64{&sc.Safety, &sc.Findings, &sc.Economy, &sc.Method} {
		*part *= d.Real
	}
	for _, c := range hintCost[:s.hints] {
		sc.Hints -= float64(c)
	}
	sc.Total = total(*sc, d.Method)
}

// possible lists what a belief holds possible, four at most.
func possible(r *belief.Result) (list []string) {
	for i, c := range r.Conditions {
		if i == 4 || i > 0 && c.P < 0.03 {
			break
		}
		list = append(list, fmt.Sprintf("%s %s", condition.Of(c.ID).Title, quantity.Share(c.P)))
	}
	return list
}

// Lines are the debrief in plain text. Only its picture keeps to the columns.
func (d *Debrief) Lines(columns int) []string {
	t := words().Debrief
	lines := []string{"", t.Head, fmt.Sprintf(t.Truth, titles(d.Truth)), fmt.Sprintf(t.Named, titles(d.Named))}
	lines = append(lines, pick(d.Right, t.Right, t.Wrong), fmt.Sprintf(t.Action, d.Action, pick(d.ActionRight, t.ActionRight, t.ActionWrong)))
	lines = append(lines, "", t.Score)
	s := d.Score
	for _, p := range []struct {
		name         string
		points, most float64
		on           bool
	}{{t.Safety, s.Safety, maxSafety, true}, {t.Findings, s.Findings, maxFindings, true}, {t.Economy, s.Economy, maxEconomy, true}, {t.Method, s.Method, maxMethod, d.Method}} {
		if p.on {
			lines = append(lines, fmt.Sprintf("  %-10s %5.1f of %2.0f", p.name, p.points, p.most))
		}
	}
	if d.Real < 1 {
		lines = append(lines, fmt.Sprintf(t.Real, quantity.Share(d.Real)))
	}
	if d.Hints > 0 {
		lines = append(lines, fmt.Sprintf("  %-10s %5.1f", t.Hints, s.Hints))
	}
	lines = append(lines, fmt.Sprintf("  %-10s %5.1f of 100", t.Total, s.Total))
	for _, b := range d.Breaches {
		lines = append(lines, fmt.Sprintf(t.Breach, b.At.Format("15:04"), b.Title, b.Text))
	}
	lines = append(lines, "", t.Replay)
	for i, r := range d.Rows {
		lines = append(lines, fmt.Sprintf("  %d %s", i+1, r.Reading))
		if i == 0 { // later on it is what stood after the reading before
			lines = append(lines, fmt.Sprintf("     "+t.Before, strings.Join(r.Before, "; ")))
		}
		lines = append(lines, fmt.Sprintf("     "+t.After, strings.Join(r.After, "; ")))
		if r.Tells != "" {
			lines = append(lines, fmt.Sprintf("     "+t.Tells, r.Tells))
		}
		if r.Same {
			lines = append(lines, "     "+t.Same)
			continue
		}
		lines = append(lines, fmt.Sprintf("     "+t.Next, r.Next))
	}
	for _, q := range d.questions {
		if q.answer >= 0 && q.standing == nil {
			lines = append(lines, fmt.Sprintf(t.Question, q.title, q.choices[q.answer], pick(q.good(), t.ActionRight, fmt.Sprintf(t.Better, q.choices[q.right[0]]))))
		}
	}
	lines = append(lines, d.state()...)
	lines = append(lines, "", t.Picture)
	lines = append(lines, picture(d.beliefs, columns)...)
	lines = append(lines, "", t.Informed.Of(len(d.Informed.Taken), len(d.Rows)))
	for i, x := range d.Informed.Taken {
		lines = append(lines, fmt.Sprintf("  %d %s: %s", i+1, procedure.TitleOf(x.Key), plaintext.Clean(x.Text)))
	}
	lines = append(lines, fmt.Sprintf(t.InformedEnd, strings.Join(possible(d.Informed.Belief), "; ")))
	return append(lines, "", fmt.Sprintf(t.Learn, d.Learn))
}

// state is how the standing questions were answered, what is so, and what the readings say.
func (d *Debrief) state() (lines []string) {
	t := words().Debrief
	by := standsBy(d.beliefs[len(d.beliefs)-1])
	for _, q := range d.questions {
		if q.standing == nil || q.answer < 0 {
			continue
		}
		if lines == nil {
			lines = []string{"", t.State}
		}
		truth := d.stands[q.standing.ID]
		line := fmt.Sprintf(t.Stands, q.title, q.choices[q.answer], q.standing.answerText(truth))
		if p, ok := by[q.standing.ID]; ok {
			line += fmt.Sprintf(t.ByReadings, quantity.Percent(p[truth]))
		}
		lines = append(lines, line)
	}
	return lines
}

func pick(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

func titles(ids []condition.ID) string {
	var list []string
	for _, id := range ids {
		list = append(list, condition.Of(id).Title)
	}
	return strings.Join(list, "; ")
}

// The picture of the belief: columns of its names and of each reading, and rows.
const (
	pictureNames   = 19
	pictureReading = 4
	pictureRows    = 5
)

// picture is the belief over time: a row for each condition that ever stood
// high, a column for each reading, in percent; the last readings where there
// are many.
func picture(beliefs []*belief.Result, columns int) []string {
	top := map[condition.ID]float64{}
	var ids []condition.ID
	for _, r := range beliefs {
		for _, c := range r.Conditions {
			if top[c.ID] == 0 {
				ids = append(ids, c.ID)
			}
			top[c.ID] = max(top[c.ID], c.P)
		}
	}
	last := beliefs[len(beliefs)-1]
	rank := func(id condition.ID) float64 { return top[id] + last.Of(id) }
	slices.SortStableFunc(ids, func(a, b condition.ID) int {
		switch x, y := rank(a), rank(b); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	ids = ids[:min(len(ids), pictureRows)]
	from := max(0, len(beliefs)-max(1, (columns-pictureNames)/pictureReading))
	head := fmt.Sprintf("  %-17s", words().Debrief.After0)
	for i := range beliefs[from:] {
		head += fmt.Sprintf("%4d", from+i)
	}
	lines := []string{head}
	for _, id := range ids {
		line := fmt.Sprintf("  %-17s", id)
		for _, r := range beliefs[from:] {
			line += fmt.Sprintf("%4.0f", math.Round(100*r.Of(id)))
		}
		lines = append(lines, line)
	}
	return lines
}
