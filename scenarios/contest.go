package scenarios

import (
	"fmt"
	"strings"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
)

// contestReadings is the budget of a contest in readings with an instrument:
// enough for an order that knows what it is after, not for reading everything.
const contestReadings = 6

// A Contest compares players on the same scenarios: one in the informed order,
// who stops when it is clear what is wrong; one who measures at random and one
// with a fixed checklist, who measure on to the end of the budget. All look
// around first, weigh what they read as the diagnosis does and name what is then
// likely, so that only the choice of readings differs.
type Contest struct {
	played  int
	players []*tally
}

type tally struct {
	name                   string
	named                  int
	brier, score, readings float64
	run                    func(s *Scenario, infer visiting.Inferrer, n int, seed uint64) (Play, error)
}

// NewContest begins a contest of the three.
func NewContest() *Contest {
	return &Contest{players: []*tally{
		{name: "informed order", run: func(s *Scenario, infer visiting.Inferrer, _ int, _ uint64) (Play, error) {
			return informed(s, infer, func(p Play) bool { return p.measured() >= contestReadings })
		}},
		{name: "at random", run: Random},
		{name: "fixed checklist", run: func(s *Scenario, infer visiting.Inferrer, n int, _ uint64) (Play, error) {
			return Checklist(s, infer, n)
		}},
	}}
}

// Play has all players play s; seed is that of the one who reads at random.
func (c *Contest) Play(s *Scenario, infer visiting.Inferrer, seed uint64) error {
	least := 0
	for i, t := range c.players {
		p, err := t.run(s, infer, contestReadings, seed)
		if err != nil {
			return err
		}
		if i == 0 {
			least = p.measured()
		}
		t.add(s, p, least)
	}
	c.played++
	return nil
}

func (t *tally) add(s *Scenario, p Play, informed int) {
	weights := map[condition.ID]float64{}
	var could []condition.ID
	for _, x := range p.Belief.Conditions {
		weights[x.ID] = x.P
		could = append(could, x.ID)
	}
	right := p.right(s)
	if right {
		t.named++
	}
	b := Brier(weights, could, s.Truth())
	t.brier += b
	sc := practicelog.Score{Safety: maxSafety, Findings: maxFindings * (1 - b), Economy: economy(p.measured(), informed, right)}
	t.score += total(sc, false)
	t.readings += float64(p.measured())
}

// Table is the outcome, a line each.
func (c *Contest) Table() string {
	var out strings.Builder
	n := float64(max(c.played, 1))
	fmt.Fprintf(&out, words().Problem.Players.Head+"\n%-16s %7s %10s %7s %9s\n", c.played, contestReadings, words().Problem.Players.Player, words().Problem.Players.Named, words().Problem.Players.Quadratic, words().Problem.Players.Score, words().Problem.Players.Readings)
	for _, t := range c.players {
		fmt.Fprintf(&out, "%-16s %5.0f %% %10.3f %7.1f %9.1f\n", t.name, 100*float64(t.named)/n, t.brier/n, t.score/n, t.readings/n)
	}
	return out.String()
}
