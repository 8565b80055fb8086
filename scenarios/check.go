package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
)

// A Proof says whether readings can tell what is wrong in a scenario.
type Proof struct {
	Solved bool // the informed order names it
	Clear  bool // and a visit's summary would say that it is so, without "likely"
	Play   Play
	truth  []condition.ID
	silent []condition.ID // faults that change no reading
	told   []condition.ID // faults that are named in what is shown before the end
}

// Prove plays the informed order on s.
func Prove(s *Scenario, infer visiting.Inferrer) (Proof, error) {
	play, err := Informed(s, infer, MostReadings)
	if err != nil {
		return Proof{}, err
	}
	p := Proof{Solved: play.right(s), Play: play, truth: s.Truth(), silent: s.silent(), told: s.told()}
	p.Clear = p.Solved && !slices.ContainsFunc(p.truth, func(id condition.ID) bool { return play.Belief.Of(id) < clearFrom })
	return p, nil
}

// From clearFrom on the summary of a visit calls a condition decided (summary.go); from
// possiblyFrom on another one is named beside it (choices of this project).
const (
	clearFrom    = 0.8
	possiblyFrom = 0.03
)

// Lines say with which readings it becomes clear, and what else it could be if
// not. They are for the instructor, who wrote the answer.
func (p Proof) Lines() []string {
	t := words().Check
	var lines []string
	for _, id := range p.silent {
		lines = append(lines, fmt.Sprintf(t.NoEffect, id))
	}
	for _, id := range p.told {
		lines = append(lines, fmt.Sprintf(t.Told, id))
	}
	for i, x := range p.Play.Taken {
		lines = append(lines, fmt.Sprintf("  %d %s: %s", i+1, procedure.TitleOf(x.Key), x.Text))
	}
	text := t.Unsolved
	switch {
	case p.Clear:
		text = t.Clear
	case p.Solved:
		text = t.Doubt
	}
	believed := func(id condition.ID) string {
		return condition.Of(id).Title + " " + quantity.Percent(p.Play.Belief.Of(id))
	}
	var so []string
	for _, id := range p.truth {
		so = append(so, believed(id))
	}
	var ids []string
	for _, id := range p.truth {
		ids = append(ids, string(id))
	}
	lines = append(lines, text.Of(len(p.Play.Taken), strings.Join(ids, " "), strings.Join(so, "; ")))
	if p.Clear {
		return lines
	}
	var others []string
	for _, c := range p.Play.Belief.Conditions {
		if c.P >= possiblyFrom && !slices.Contains(p.truth, c.ID) {
			others = append(others, believed(c.ID))
		}
	}
	if others != nil {
		lines = append(lines, fmt.Sprintf(t.Others, strings.Join(others, "; ")))
	}
	if len(p.Play.Taken) >= MostReadings {
		return append(lines, fmt.Sprintf(t.Spent, MostReadings))
	}
	return append(lines, t.NoMore)
}

// told are the faults that the name, the title, the story, what is visible or a
// hint but the plainest one names, by id or title.
func (s *Scenario) told() (list []condition.ID) {
	shown := []string{s.ID, s.Title, s.Story}
	shown = append(shown, s.hints[:max(0, len(s.hints)-1)]...)
	for _, v := range s.setup.Views {
		shown = append(shown, v)
	}
	text := strings.ToLower(strings.Join(shown, "\n"))
	for _, f := range s.truth {
		if strings.Contains(text, string(f.id)) || strings.Contains(text, strings.ToLower(condition.Of(f.id).Title)) {
			list = append(list, f.id)
		}
	}
	return list
}
