package conversation

import (
	"fmt"
	"reflect"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
)

// Work is an inference that waits to be made.
type Work struct {
	visit Visit
	seq   int
	input belief.Input
	infer visiting.Inferrer
}

// A Thought is what came of it.
type Thought struct {
	work   Work
	result *belief.Result
	err    error
}

// Work is the inference that the next question waits for; false where the answers changed
// nothing that is known, and between the questions of a sheet.
func (t *Talk) Work() (Work, bool) {
	if t.sheetGoesOn() {
		return Work{}, false
	}
	in := t.visit.Input()
	if b := t.visit.Belief(); b != nil && t.known != nil && reflect.DeepEqual(in, *t.known) {
		t.visit.Learn(t.visit.Seq(), b)
		return Work{}, false
	}
	return Work{t.visit, t.visit.Seq(), in, t.infer}, true
}

// Do makes the inference. Another goroutine may call it.
func (w Work) Do() Thought {
	r, err := w.infer(w.input)
	return Thought{w, r, err}
}

// Learn takes a thought; false for one that later answers have overtaken. The error says
// that there is none, and that the visit goes on all the same.
func (t *Talk) Learn(th Thought) (bool, error) {
	if th.work.visit != t.visit || th.work.seq != t.visit.Seq() {
		return false, nil
	}
	if th.err != nil {
		return true, fmt.Errorf(words().NoBelief, th.err)
	}
	if t.visit.Learn(th.work.seq, th.result) {
		t.known = &th.work.input
	}
	return true, nil
}

// An If is an answer that is only tried.
type If struct {
	Answer visiting.Answer
	input  belief.Input
	infer  visiting.Inferrer
}

// WhatIf tries an answer to the question shown without giving it.
func (t *Talk) WhatIf(typed string) (If, error) {
	if !t.asksNumber() {
		return If{}, Problem(words().IfNumber)
	}
	a, err := t.visit.ReadAnyway(t.prompt, typed)
	return If{a, t.visit.Input(), t.infer}, err
}

// Do works out where the answer would lead. Another goroutine may call it.
func (f If) Do() (*belief.Result, error) { return visiting.WhatIf(f.input, f.Answer, f.infer) }
