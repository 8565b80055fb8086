// Package diagnose leads a visit: it asks for one reading at a time in a safe
// order, narrows down what state the system can be in, and says why.
//
// Start with [Visit], [Interpret] and [Prompt]. It reads no clock, no file and
// no terminal; times and the journal are given to it.
package diagnose

import (
	"time"

	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/reading"
)

// An AnswerKind says how a step was answered.
type AnswerKind string

// The kinds of answer.
const (
	Took   AnswerKind = "took"   // a reading, a word or a choice
	Did    AnswerKind = "did"    // a confirmation or action done
	Cannot AnswerKind = "cannot" // with a reason
	Note   AnswerKind = "note"   // free words on a step; answers nothing
	Stop   AnswerKind = "stop"   // a stop rule or the wish to end; leads to putting back
)

// An Answer is one entry of a visit; a later answer to the same step replaces
// the earlier one and both stay in the journal.
type Answer struct {
	Step    string      `json:"step"`
	Kind    AnswerKind  `json:"kind"`
	Reading reading.Key `json:"reading,omitempty"`
	Typed   string      `json:"typed,omitempty"`  // as typed
	Number  *float64    `json:"number,omitempty"` // in the unit of the reading
	Word    string      `json:"word,omitempty"`
	List    []float64   `json:"list,omitempty"`
	Labels  []string    `json:"labels,omitempty"` // for choose
	Doubted bool        `json:"doubted,omitempty"`
	Reason  string      `json:"reason,omitempty"` // for cannot and stop; the text of a note
	At      time.Time   `json:"at"`
}

// A Prompt is what the person is asked now.
type Prompt struct {
	Step     procedure.Step
	Spec     reading.Spec  // for Take
	Expected *belief.Range // for numbers, by the present belief
	Hint     string        // example of an answer, "13.1 or 13,1 V"
	Given    *Answer       // the present answer, when an earlier step is shown again
	Why      string        // why this step now, one sentence
	Done     bool          // nothing is left to do; Step is empty
}
