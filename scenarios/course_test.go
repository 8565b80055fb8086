package scenarios

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
)

// Six lessons in their order, each with an explanation, two guided cases, three of one's own
// and a sheet; no case comes twice, and later lessons have no easier cases.
func TestCourse(t *testing.T) {
	var ids []string
	seen := map[string]bool{}
	level := 0.0
	for _, l := range Lessons() {
		ids = append(ids, l.ID)
		assert.Len(t, l.Guided, 2, l.ID)
		assert.Len(t, l.Own, 3, l.ID)
		assert.GreaterOrEqual(t, len(l.Text), 5, l.ID)
		assert.GreaterOrEqual(t, l.SheetLevel, 1, l.ID)
		sum := 0.0
		for _, id := range append(append([]string{}, l.Guided...), l.Own...) {
			sc, ok := ByID(id)
			require.True(t, ok, id)
			assert.True(t, sc.Solvable, id)
			assert.False(t, seen[id], id)
			seen[id] = true
			sum += float64(sc.Level) / 5
		}
		assert.GreaterOrEqual(t, sum, level, "%s is no easier than the lesson before", l.ID)
		level = sum
	}
	assert.Equal(t, []string{"see", "measure", "interpret", "decide", "repair", "hand-over"}, ids)
	assert.Len(t, CourseCases(), 30)
}

// Where a trainee stands follows from the results alone: what was done, what is next, and
// the first and last score of the cases on one's own.
func TestStandingOf(t *testing.T) {
	var list []practicelog.Result
	result := func(who string, c CourseCase, points float64, right bool) {
		r := practicelog.Result{Who: who, At: time.Unix(int64(len(list)), 0), Mode: practicelog.OnOnesOwn, Scenario: c.Scenario, Right: right}
		if c.Guided {
			r.Mode = practicelog.WithGuide
		}
		sc, _ := ByID(c.Scenario)
		r.Truth, r.Score.Total = sc.Truth(), points
		list = append(list, r)
	}
	assert.Equal(t, CourseCases()[0], *StandingOf(list, "A").Next)
	assert.Equal(t, []string{courseWords().Say.Nobody}, ClassLines(list))
	for i, c := range CourseCases() {
		s := StandingOf(list, "A")
		require.NotNil(t, s.Next)
		require.Equal(t, c, *s.Next)
		assert.Equal(t, i, s.Done)
		title, lines := c.Explain()
		assert.Contains(t, title, Lessons()[c.Lesson].Title)
		assert.Contains(t, strings.Join(lines, "\n"), "ampwalk practice sheet --level")
		result("A", c, 40+float64(i), i != 2)
		result("B", CourseCases()[2], 30, false) // again and again the same: it counts once
	}
	s := StandingOf(list, "A")
	assert.Nil(t, s.Next)
	assert.Len(t, s.Points, 18)
	assert.InDelta(t, 42, s.Points[0], 1e-9)
	assert.InDelta(t, 69, s.Points[17], 1e-9)
	assert.Equal(t, 1, StandingOf(list, "B").Done)
	means := ClassPoints(list)
	require.Len(t, means, 18)
	assert.InDelta(t, 36, means[0], 1e-9, "of 42 and 30")
	assert.InDelta(t, 43, means[1], 1e-9, "of one alone")
	assert.Equal(t, []string{"   1   36 #######", "   2   43 #########"}, Drawn(means[:2]))
	class := strings.Join(ClassLines(list), "\n")
	assert.Contains(t, class, "A: the course is done, 30 cases; first 42, last 69 points")
	assert.Contains(t, class, "B: lesson 1 (See), 1 of 30 cases; first 30, last 30 points")
	assert.Contains(t, class, "the first case brought 36 points, the last 50")
	assert.Contains(t, class, condition.Of(list[4].Truth[0]).Title+" (31 of 31)")
}
