package scenarios

import (
	"fmt"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// A guidedRow is one answer from which the belief learned.
type guidedRow struct {
	title  string         // and value
	before *belief.Result // nil where none was worked out
	key    reading.Key
	set    *reading.Set // after it
}

// follow keeps what was believed before an answer that the belief learns from.
func (g *Guided) follow(a visiting.Answer) {
	step, ok := g.Visit.Procedure().Step(a.Step)
	if ok && a.Kind == visiting.Took && (a.Reading != "" || a.Step == loadsOnStep) {
		g.rows = append(g.rows, guidedRow{plaintext.Clean(step.Title + ": " + a.Text()), g.Visit.Before(), a.Reading, g.Visit.Input().Readings})
	}
}

// cameTo is what the visit ended with: the conditions that are likely.
func (g *Guided) cameTo() []condition.ID {
	if g.Visit.Belief() == nil {
		return nil
	}
	return Play{Belief: g.Visit.Belief()}.named()
}

// Debrief says what it was and how it went, reading by reading; nil before the
// visit is done. Only its picture keeps to the columns.
func (g *Guided) Debrief(columns int) []string {
	if !g.Visit.Done() {
		return nil
	}
	t, r := words().Debrief, g.result()
	lines := []string{"", t.Head, fmt.Sprintf(t.Truth, titles(r.Truth)), fmt.Sprintf(words().Guided.CameTo, orNothing(titles(r.Named)))}
	lines = append(lines, "", t.Score)
	lines = append(lines,
		fmt.Sprintf("  %-10s %5.1f of %2d", t.Safety, r.Score.Safety, maxSafety),
		fmt.Sprintf("  %-10s %5.1f of %2d", t.Method, r.Score.Method, maxMethod),
		fmt.Sprintf("  %-10s %5.1f of 100", t.Total, r.Score.Total),
		fmt.Sprintf(words().Guided.Caught, g.caught, g.right))
	for _, x := range g.bench.b.Breaches() {
		lines = append(lines, fmt.Sprintf(t.Breach, x.At.Format("15:04"), x.Title, x.Text))
	}
	lines = append(lines, "", t.Replay)
	var beliefs []*belief.Result
	for i, row := range g.rows {
		lines = append(lines, fmt.Sprintf("  %d %s", i+1, row.title))
		after := g.Visit.Belief()
		if i+1 < len(g.rows) {
			after = g.rows[i+1].before
		}
		if row.before != nil && i == 0 {
			beliefs = append(beliefs, row.before)
		}
		if after != nil {
			beliefs = append(beliefs, after)
			lines = append(lines, fmt.Sprintf("     "+t.After, strings.Join(possible(after), "; ")))
			if told := visiting.Together(g.bench.sc.Site, after, row.before, row.set, row.key); told.Text != "" {
				lines = append(lines, fmt.Sprintf("     "+t.Tells, told.Text))
			}
		}
	}
	if len(beliefs) > 0 {
		lines = append(lines, "", t.Picture)
		lines = append(lines, picture(beliefs, columns)...)
	}
	return append(lines, "", fmt.Sprintf(t.Learn, g.bench.sc.learn))
}

func orNothing(s string) string {
	if s == "" {
		return words().Guided.Nothing
	}
	return s
}

// Result is the practice as it is kept, once the visit is done.
func (g *Guided) Result(at time.Time) (practicelog.Result, bool) {
	if !g.Visit.Done() {
		return practicelog.Result{}, false
	}
	r := g.result()
	r.At = at
	return r, true
}

func (g *Guided) result() practicelog.Result {
	sc, b := g.bench.sc, g.bench.b
	r := practicelog.Result{
		Who: g.who, Mode: practicelog.WithGuide, Scenario: sc.ID, Level: sc.Level, Truth: sc.Truth(), Named: g.cameTo(), Caught: g.caught,
		Readings: len(g.rows), Breaches: []string{},
	}
	r.Right = sameConditions(r.Named, r.Truth)
	r.Score.Safety = safety(b.Breaches())
	if n := g.right + g.caught; n > 0 {
		r.Score.Method = maxMethod * float64(g.right) / float64(n)
	}
	r.Score.Total = 100 * (r.Score.Safety + r.Score.Method) / (maxSafety + maxMethod)
	for _, x := range b.Breaches() {
		r.Breaches = append(r.Breaches, x.ID)
	}
	return r
}
