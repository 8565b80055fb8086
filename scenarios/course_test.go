package scenarios

import (
	"regexp"
	"slices"
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
		assert.GreaterOrEqual(t, len(l.Short), 5, l.ID)
		assertExplains(t, l)
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
	assert.Len(t, CourseCases(), 36, "with the sheet of each lesson")
}

// An explanation takes ten to twenty minutes of reading, at the pace of those who read it in
// a second language; its sentences are short, and its drawings fit the narrowest screen. It
// says where each part comes from.
func assertExplains(t *testing.T, l Lesson) {
	t.Helper()
	assert.GreaterOrEqual(t, l.Minutes(), 10.0, l.ID)
	assert.LessOrEqual(t, l.Minutes(), 20.0, l.ID)
	words, sentences, drawings := 0, 0, 0
	for _, p := range l.Part {
		assert.NotEmpty(t, p.Source, "%s: %s", l.ID, p.Title)
		for _, text := range p.Text {
			for _, s := range regexp.MustCompile(`[.!?:]["]?( |$)`).Split(text, -1) {
				n := len(strings.Fields(s))
				assert.LessOrEqual(t, n, 27, "%s: %s", l.ID, s)
				if n > 0 {
					words, sentences = words+n, sentences+1
				}
			}
		}
		if p.Drawing != "" {
			drawings++
		}
		for line := range strings.SplitSeq(p.Drawing, "\n") {
			assert.LessOrEqual(t, len(line), 58, "%s: %s", l.ID, line)
		}
	}
	assert.LessOrEqual(t, words, 14*sentences, l.ID)
	assert.GreaterOrEqual(t, drawings, 2, l.ID)
}

// Where a trainee stands follows from the results alone: what was done, what is next, and
// the first and last score of the cases on one's own.
func TestStandingOf(t *testing.T) {
	var list []practicelog.Result
	result := func(who string, c CourseCase, points float64, right bool) {
		r := practicelog.Result{Who: who, At: time.Unix(int64(len(list)), 0), Mode: practicelog.OnOnesOwn, Scenario: c.Scenario, Right: right}
		switch {
		case c.Guided:
			r.Mode, r.Passed = practicelog.WithGuide, right
		case c.Sheet:
			r.Mode, r.Answers, r.Missed = practicelog.Quiz, CourseSheet*6, []string{"held", "full", "held"}
		}
		if sc, ok := ByID(c.Scenario); ok {
			r.Truth = sc.Truth()
		}
		r.Score.Total = points
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
		first := c.Guided && c.Scenario == Lessons()[c.Lesson].Guided[0]
		assert.Equal(t, first, strings.Contains(strings.Join(lines, "\n"), Lessons()[c.Lesson].Part[0].Text[0]), "the whole lesson before its first case alone")
		result("A", c, 40+float64(i), i != 1)
		result("B", CourseCases()[2], 30, false) // again and again the same: it counts once
	}
	again := CourseCases()[1]
	s := StandingOf(list, "A")
	require.NotNil(t, s.Next)
	assert.Equal(t, again, *s.Next, "a guided case that was not passed comes again at the end")
	assert.Contains(t, strings.Join(s.Lines(), "\n"), "Not passed yet: ")
	result("A", again, 90, true)
	s = StandingOf(list, "A")
	assert.Nil(t, s.Next)
	assert.Len(t, s.Points, 18)
	assert.InDelta(t, 42, s.Points[0], 1e-9)
	assert.InDelta(t, 74, s.Points[17], 1e-9)
	short := list[slices.IndexFunc(list, func(r practicelog.Result) bool { return r.Mode == practicelog.Quiz })]
	assert.Equal(t, 1, StandingOf([]practicelog.Result{short}, "A").Done)
	// A sheet of fewer cases is not the lesson's.
	short.Answers, short.Who = 6, "C"
	assert.Zero(t, StandingOf([]practicelog.Result{short}, "C").Done)
	assert.Equal(t, 1, StandingOf(list, "B").Done)
	means := ClassPoints(list)
	require.Len(t, means, 18)
	assert.InDelta(t, 36, means[0], 1e-9, "of 42 and 30")
	assert.InDelta(t, 43, means[1], 1e-9, "of one alone")
	assert.Equal(t, []string{"   1   36 #######", "   2   43 #########"}, Drawn(means[:2]))
	class := strings.Join(ClassLines(list), "\n")
	assert.Contains(t, class, "A: the course is done, 36 cases; first 42, last 74 points")
	assert.Contains(t, class, "B: lesson 1 (See), 1 of 36 cases; first 30, last 30 points")
	assert.Contains(t, class, "the first case brought 36 points, the last 52")
	assert.Contains(t, class, condition.Of(list[4].Truth[0]).Title+" (36 of 37)")
	assert.Contains(t, class, "Is power held back? (12 of 36)")
}
