package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/procedure"
)

// A Proof says whether readings can tell what is wrong in a scenario.
type Proof struct {
	Solved bool
	Play   Play
	Acts   bool // what is wrong changes a reading at all
	truth  []condition.ID
}

// Prove plays the informed order on s.
func Prove(s *Scenario, infer diagnose.Inferrer) (Proof, error) {
	play, err := Informed(s, infer, MostReadings)
	return Proof{play.right(s), play, s.acts(), s.ids()}, err
}

// Lines say with which readings it becomes clear, and what else it could be if
// not. They are for the instructor, who wrote the answer.
func (p Proof) Lines() []string {
	t := words().Check
	var lines []string
	if !p.Acts {
		lines = append(lines, t.NoEffect)
	}
	for i, x := range p.Play.Taken {
		lines = append(lines, fmt.Sprintf("  %d %s: %s", i+1, procedure.TitleOf(x.Key), x.Text))
	}
	text := t.Unsolved
	if p.Solved {
		text = t.Solved
	}
	lines = append(lines, fmt.Sprintf(text, ids(p.truth), len(p.Play.Taken), strings.Join(possible(p.Play.Belief), "; ")))
	if p.Solved {
		return lines
	}
	var others []string
	for _, c := range p.Play.Belief.Conditions {
		if c.P >= 0.03 && !slices.Contains(p.truth, c.ID) {
			others = append(others, condition.Of(c.ID).Title)
		}
	}
	return append(lines, fmt.Sprintf(t.Others, strings.Join(others, "; ")))
}
