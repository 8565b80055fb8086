package scenarios

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/practicelog"
)

// twoCases is a sheet that several tests play.
var twoCases = sync.OnceValues(func() (*Sheet, error) { return NewSheet(1, 2, 11, belief.Infer) })

// playQuiz answers each question by choose, which is given its question; each answer takes
// pace.
func playQuiz(t *testing.T, pace time.Duration, choose func(*question) int) practicelog.Result {
	t.Helper()
	sheet, err := twoCases()
	require.NoError(t, err)
	q, err := NewQuiz(sheet, "A. Trainee")
	require.NoError(t, err)
	now := time.Unix(0, 0)
	for steps := 0; !q.Ended(); steps++ {
		require.Less(t, steps, 100)
		if !q.UnderWay() {
			_, ok := q.Result(now)
			require.False(t, ok, "not before the end")
			_, err := q.Do("", now)
			require.NoError(t, err)
			continue
		}
		now = now.Add(pace)
		_, err := q.Do(fmt.Sprint(choose(q.open())+1), now)
		require.NoError(t, err)
	}
	r, ok := q.Result(now)
	require.True(t, ok)
	return r
}

// Who is sure and right has all points, who always says that it cannot be told has none,
// and who is sure and wrong none either. What comes after the minute does not count.
func TestQuizPoints(t *testing.T) {
	right := func(x *question) int { return x.right[0] }
	best := playQuiz(t, time.Second, right)
	assert.InDelta(t, 100, best.Score.Total, 1e-9)
	assert.True(t, best.Right)
	assert.Equal(t, 12, best.Answers)
	assert.Empty(t, best.Missed)
	none := playQuiz(t, time.Second, func(x *question) int { return len(x.choices) - 1 })
	assert.InDelta(t, 0, none.Score.Total, 1e-9)
	assert.Len(t, none.Missed, 12)
	wrong := playQuiz(t, time.Second, pickWrong)
	assert.Zero(t, wrong.Score.Total)
	assert.Len(t, wrong.Missed, 12)
	// Three answers a minute: the fourth comes at the 80th second.
	late := playQuiz(t, 20*time.Second, right)
	assert.Len(t, late.Missed, 6, "three of six in time, in both cases")
	assert.InDelta(t, 50, late.Score.Total, 1e-9)
	assert.False(t, late.Right)
}

// pickWrong is a sure answer that is wrong.
func pickWrong(x *question) int {
	for i := range x.choices {
		if !slices.Contains(x.right, i) && x.points[i] == slices.Min(x.points) {
			return i
		}
	}
	return -1
}

// The worth of an answer is proper as the quadratic score is: it only moves and stretches it.
func TestQuizWorthIsProper(t *testing.T) {
	for _, of := range standingQuestions() {
		q := askStanding(&of, of.Answer[0].ID)
		var worths []float64
		for i := range q.choices {
			q.answer = i
			worths = append(worths, q.worth())
		}
		none := q.points[len(q.points)-1]
		for i := range worths {
			assert.InDelta(t, (q.points[i]-none)/(q.points[0]-none), worths[i], 1e-12)
		}
		assert.InDelta(t, 1, worths[0], 1e-12)
		assert.InDelta(t, 0, worths[len(worths)-1], 1e-12)
	}
}

// What is shown tells no answer before it is given: no title of a condition, and the same
// figures as on paper.
func TestQuizShowsTheSheet(t *testing.T) {
	sheet, err := twoCases()
	require.NoError(t, err)
	q, err := NewQuiz(sheet, "")
	require.NoError(t, err)
	assert.Nil(t, q.Case())
	now := time.Unix(0, 0)
	_, err = q.Do("", now)
	require.NoError(t, err)
	shown := strings.Join(q.Case(), "\n")
	for _, r := range sheet.Cases[0].shown {
		assert.Contains(t, shown, r.text)
	}
	for _, s := range []string{"seven", "0", "8", ""} {
		_, err = q.Do(s, now)
		assert.ErrorIs(t, err, errUnknown, "%q", s)
	}
	assert.False(t, strings.Contains(strings.ToLower(q.Head()+shown), strings.ToLower(titles(sheet.Cases[0].Scenario.Truth()))))
	assert.Equal(t, "60 s left", q.Left(now))
	assert.Equal(t, "15 s left", q.Left(now.Add(45*time.Second)))
	assert.True(t, q.Overdue(now.Add(QuizTime+time.Second)))
	said, err := q.Do("1", now.Add(QuizTime+time.Second))
	require.NoError(t, err)
	assert.Equal(t, quizWords().TimeUp, said[0])
	assert.Contains(t, strings.Join(said, "\n"), titles(sheet.Cases[0].Scenario.Truth()), "it is told after it")
	_, err = NewQuiz(&Sheet{Level: 1, Seed: 3}, "")
	assert.Error(t, err)
}
