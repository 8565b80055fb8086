package plain

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/scenarios"
)

// QuizOptions is what a quiz line by line needs.
type QuizOptions struct {
	Quiz  *scenarios.Quiz
	Now   func() time.Time
	In    io.Reader
	Out   io.Writer
	Width int // columns of the terminal, 0 for the usual ones
}

// Quiz plays a quiz until it has ended, is left, or the input ends.
func Quiz(opt QuizOptions) error {
	if opt.Width <= 0 {
		opt.Width = usualWidth
	}
	typed, q, w := newTyped(opt.In), opt.Quiz, words().Practice
	var failed error
	say := func(lines ...string) {
		for _, l := range lines {
			for _, part := range plaintext.WrapIndented(l, opt.Width) {
				if failed == nil {
					_, failed = io.WriteString(opt.Out, part+"\n")
				}
			}
		}
	}
	for fresh := true; failed == nil && !q.Ended(); {
		if fresh && q.UnderWay() {
			say(append([]string{"", q.Head()}, q.Case()...)...)
		}
		asks, choices := q.Question()
		say("", strings.TrimSpace(asks+" "+bracketed(q.Left(opt.Now()))))
		numbered := make([]string, len(choices))
		for i, c := range choices {
			numbered[i] = fmt.Sprintf("%d %s", i+1, c)
		}
		if len(numbered) > 0 { // in a line: a minute is short
			say("  " + strings.Join(numbered, ";  "))
		}
		line, err := typed.next(func(problem string) { say(fmt.Sprintf(words().Problem, problem)) })
		if errors.Is(err, io.EOF) {
			return failed
		} else if err != nil {
			return err
		}
		if strings.EqualFold(line, "leave") {
			say(w.Left)
			return failed
		}
		before := q.UnderWay()
		said, err := q.Do(line, opt.Now())
		if err != nil {
			said = []string{fmt.Sprintf(words().Problem, err)}
		}
		say(said...)
		fresh = q.UnderWay() && !before
	}
	say(q.Debrief(opt.Width)...)
	return failed
}

func bracketed(text string) string {
	if text == "" {
		return ""
	}
	return "(" + text + ")"
}
