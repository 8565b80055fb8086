package scenarios

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
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
		fmt.Sprintf(words().Guided.Caught, g.caught, g.right),
		fmt.Sprintf(words().Guided.Claimed, g.claimed, g.made, g.made+g.unmade))
	if k, passed := g.lesson(); passed {
		lines = append(lines, words().Guided.Passed)
	} else {
		lines = append(lines, fmt.Sprintf(words().Guided.NotPassed, strings.ToLower(orNothing(procedure.TitleOf(k)))))
	}
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
	share := func(of, others int) float64 {
		if of+others == 0 {
			return 1
		}
		return float64(of) / float64(of+others)
	}
	real := share(g.right, g.caught+g.claimed)
	if len(g.rows) == 0 {
		real = 0
	}
	r.Score.Safety = safety(b.Breaches()) * share(g.made, g.unmade)
	r.Score.Method = maxMethod * real
	// Who measures nothing is in no danger either: safety counts as far as the work was real.
	r.Score.Total = 100 * real * (r.Score.Safety + maxMethod) / (maxSafety + maxMethod)
	_, r.Passed = g.lesson()
	for _, x := range b.Breaches() {
		r.Breaches = append(r.Breaches, x.ID)
	}
	return r
}

// lesson is the reading that tells most of what is wrong, by the belief at the end, and
// whether the case is passed: it was really taken, the visit came to what is so, and nothing
// that was done could have hurt somebody.
func (g *Guided) lesson() (tells reading.Key, passed bool) {
	r := g.Visit.Belief()
	if r == nil {
		return "", false
	}
	set := g.Visit.Input().Readings
	for _, e := range r.Evidence { // strongest first
		if _, _, between := e.Reading.Node(); !between && set.Has(e.Reading) {
			tells = e.Reading
			break
		}
	}
	b := g.bench.b
	hurt := slices.ContainsFunc(b.Breaches(), func(x virtualsite.Breach) bool { return x.Severity == len(breachCost)-1 })
	spec, _ := reading.SpecOf(tells)
	looked := spec.Form != reading.Number && spec.Form != reading.List && b.Took(tells) // seen, or told by people
	return tells, !hurt && (tells == "" || g.real[tells] || looked) && sameConditions(g.cameTo(), g.bench.sc.Truth())
}
