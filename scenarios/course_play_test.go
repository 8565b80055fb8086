package scenarios

import (
	"flag"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// The guided cases of the course can be passed: who does at the bench what the visit asks
// comes to what is so, with at least 90 points.
func TestCourseCanBePassed(t *testing.T) {
	var list []CourseCase
	for _, c := range CourseCases() {
		if c.Guided {
			list = append(list, c)
		}
	}
	for _, c := range list[:min(playsOf(t), len(list))] {

		sc, ok := ByID(c.Scenario)
		require.True(t, ok)
		g, err := NewGuided(sc, "A. Trainee", belief.Infer)
		require.NoError(t, err)
		for _, look := range []string{"ask", "look array", "look controller", "look battery", "look loads"} {
			_, done := g.Measure(look)
			require.True(t, done)
		}
		r := playBy(t, g, belief.Infer, func(g *Guided, p visiting.Prompt) visiting.Answer {
			if r := virtualsite.ReadyFor(p.Step.ID); r != "" {
				_, done := g.Measure("ready " + string(r))
				require.True(t, done)
			}
			return answered(g.Bench(), g.Visit, p)
		})
		assert.GreaterOrEqual(t, r.Score.Total, 90.0, "%s: %v", sc.ID, r.Breaches)
		k, _ := g.lesson()
		assert.True(t, r.Passed, "%s: named %v, told by %s", sc.ID, r.Named, k)
	}
}

// ideally plays a free practice as an ideal trainee does: the readings of the informed order
// as found, what they imply as one's estimate, each question by it, the likeliest named.
func ideally(t *testing.T, sc *Scenario) *Debrief {
	t.Helper()
	s := NewSession(sc, "A. Trainee", belief.Infer)
	expert, err := Informed(sc, belief.Infer, MostReadings)
	require.NoError(t, err)
	do := func(typed string) {
		t.Helper()
		_, err := s.Do(typed)
		require.NoError(t, err, typed)
		for s.Questioned() {
			_, err := s.Do(fmt.Sprint(bestChoice(t, s) + 1))
			require.NoError(t, err)
		}
	}
	do("ask")
	for _, p := range virtualsite.Places {
		do("look " + string(p))
	}
	for _, x := range expert.Taken {
		_, seen := lookAt(x.Key)
		spec, _ := reading.SpecOf(x.Key)
		if seen || !strings.HasPrefix(spec.Section, "as_found") {
			continue
		}
		if before := s.Readings(); !measures(s, x.Key) || s.Readings() == before {
			continue
		}
		if s.measured()%askEvery == 0 {
			_, err := s.openQuestion()
			require.NoError(t, err)
			do(fmt.Sprint(s.question.right[0] + 1))
		}
	}
	r, err := s.current()
	require.NoError(t, err)
	sum := 0.0
	for _, c := range r.Conditions {
		sum += c.P
	}
	sum = max(sum, 1) // two at once share the one
	believe := "believe"
	for _, c := range r.Conditions {
		if c.P >= 0.01 {
			believe += fmt.Sprintf(" %s %.1f", c.ID, 99*c.P/sum)
		}
	}
	do(believe)
	name := "name"
	for _, id := range (Play{Belief: r}).named() {
		name += " " + string(id)
	}
	if name == "name" {
		name += " " + string(r.Conditions[0].ID)
	}
	do(name)
	right := slices.IndexFunc(s.actions, func(w work) bool { return strings.HasPrefix(w.key, string(s.named[0])+"/") })
	if right < 0 {
		right = slices.IndexFunc(s.actions, func(w work) bool {
			return slices.ContainsFunc(condition.Of(s.named[0]).Actions, func(a condition.Action) bool { return a.Key(s.named[0]) == w.key })
		})
	}
	do(fmt.Sprint(max(right, 0) + 1))
	require.NotNil(t, s.Debrief())
	return s.Debrief()
}

// measures takes a reading at the bench of a practice, as it should be taken.
func measures(s *Session, k reading.Key) bool {
	d := take(s.b, k)
	s.take(d)
	return d.Shown
}

// bestChoice is the answer that the readings make worth most.
func bestChoice(t *testing.T, s *Session) int {
	t.Helper()
	q := s.question
	if q.standing == nil {
		return q.right[0]
	}
	r, err := s.current()
	require.NoError(t, err)
	by := standsBy(r)[q.standing.ID]
	if by == nil { // a decision: what is so
		return q.right[0]
	}
	most, best := -1.0, 0
	for i := range q.choices {
		sum := 0.0
		for id, p := range by {
			sum += p * askStanding(q.standing, id).points[i]
		}
		if sum > most {
			most, best = sum, i
		}
	}
	return best
}

// plays is how many cases of the course are played with the true inference, each of some ten
// seconds. All are played by
//
//	go test ./scenarios -run 'Course|Ideal' -args -plays 18
var plays = flag.Int("plays", 0, "cases of the course that are played; 0: as many as the run has time for")

func playsOf(t *testing.T) int {
	t.Helper()
	if *plays > 0 {
		return *plays
	}
	if testing.Short() {
		t.Skip("whole practices with the true inference")
	}
	return effort.Of(0, 2, 4)
}

// The score of a practice on one's own, which is also that of a course's first and last
// case: an ideal player has at least 90 of 100, and who names what is right without having
// measured anything 40 at most.
func TestIdealAndClaimedScores(t *testing.T) {
	var list []CourseCase
	for _, c := range CourseCases() {
		if !c.Guided && !c.Sheet {
			list = append(list, c)
		}
	}
	n := min(playsOf(t), len(list))
	for i := range n {
		c := list[i*(len(list)-1)/max(n-1, 1)] // the first and the last among them
		sc, ok := ByID(c.Scenario)
		require.True(t, ok)
		d := ideally(t, sc)
		assert.GreaterOrEqual(t, d.Score.Total, 90.0, "%s: %+v named %v %v", sc.ID, d.Score, d.Named, d.Action)
		s := NewSession(sc, "A. Trainee", belief.Infer)
		typed := []string{"look array", "look battery", "name"}
		for _, id := range sc.Truth() {
			typed[2] += " " + string(id)
		}
		for _, line := range typed {
			_, err := s.Do(line)
			require.NoError(t, err)
		}
		for s.Questioned() {
			_, err := s.Do(fmt.Sprint(s.question.right[0] + 1))
			require.NoError(t, err)
		}
		_, err := s.Do("1")
		require.NoError(t, err)
		assert.LessOrEqual(t, s.Debrief().Score.Total, 40.0, "%s: %+v", sc.ID, s.Debrief().Score)
	}
}
