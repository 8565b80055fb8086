package tui

import (
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/scenarios"
)

// sheetOfTwo is a sheet that its readings decide, and so takes the true inference.
var sheetOfTwo = sync.OnceValues(func() (*scenarios.Sheet, error) { return scenarios.NewSheet(1, 2, 11, belief.Infer) })

// A clock is moved by a test.
type clock struct{ now time.Time }

func quizzing(c *clock) *driver {
	sheet, err := sheetOfTwo()
	if err != nil {
		panic(err)
	}
	q, err := scenarios.NewQuiz(sheet, "Ada Example")
	if err != nil {
		panic(err)
	}
	opt := options()
	opt.Now = func() time.Time { return c.now }
	d := drive(newQuiz(q, c.now), opt)
	d.hold = true // the seconds are sent by the test
	return d
}

func init() {
	at := func(keys ...string) func() *driver {
		return func() *driver { return quizzing(&clock{noon}).press(keys...) }
	}
	screens["quiz"] = at("enter", "1", "enter", "2")
	screens["quiz-between"] = at("enter", "1", "enter", "1", "enter", "3", "enter", "2", "enter", "1", "enter", "1", "enter")
}

// A quiz by digits and enter alone, to its end; an enter too many answers nothing.
func TestQuizByKeys(t *testing.T) {
	c := &clock{noon}
	d := quizzing(c)
	assert.Contains(t, d.m.View(), "You have one minute for each case")
	d.press("enter")
	assert.Contains(t, d.m.View(), "60 s left")
	d.press("enter", "enter")
	assert.Contains(t, d.m.View(), "Is it light on the array?")
	c.now = c.now.Add(12 * time.Second)
	d.send(secondMsg{})
	assert.Contains(t, d.m.View(), "48 s left")
	for range 6 {
		d.press("1", "enter")
	}
	assert.Contains(t, d.m.View(), "of 6 answers. What it was: ")
	c.now = c.now.Add(time.Hour) // between two cases there is time
	d.press("enter")
	assert.Contains(t, d.m.View(), "60 s left")
	c.now = c.now.Add(scenarios.QuizTime + time.Second)
	d.send(secondMsg{})
	assert.Contains(t, d.m.View(), "The minute is over.")
	d.press("end")
	assert.Contains(t, d.m.View(), "of 12 answers right")
	r, ended := d.m.screen.(quizScreen).quiz.Result(c.now)
	require.True(t, ended)
	assert.GreaterOrEqual(t, len(r.Missed), 6)
	d.hold = false
	d.press("enter")
	assert.True(t, d.quit)
}

// Who leaves in the middle is asked first.
func TestQuizIsLeft(t *testing.T) {
	d := quizzing(&clock{noon}).press("enter", "q")
	assert.Contains(t, d.m.View(), "Leave the practice?")
	d.press("1", "enter")
	assert.Contains(t, d.m.View(), "Is it light on the array?")
}
