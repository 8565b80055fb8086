package desk

import (
	"context"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
)

// A Visit is a visit on the desk: as it is in the ledger, with its steps.
type Visit struct {
	ledger.Visit
	Record *visiting.Visit // all of it, without a journal
	Steps  []Step          // every answer and note, as given
}

// A Step is one answer of a visit.
type Step struct {
	Title  string
	Answer visiting.Answer
	Said   []review.Entry // comments on the step

	entries int // of the journal, up to and with it
}

// Visit opens a visit.
func (d *Desk) Visit(ctx context.Context, id string) (*Visit, error) {
	stored, err := d.Ledger.Visit(ctx, id)
	if err != nil {
		return nil, err
	}
	return newVisit(stored)
}

func newVisit(stored ledger.Visit) (*Visit, error) {
	whole, err := visiting.Resume(stored.Content.Entries, nil)
	if err != nil {
		return nil, err
	}
	v := &Visit{Visit: stored, Record: whole}
	for i, e := range stored.Content.Entries {
		if e.Answer == nil {
			continue
		}
		s := Step{Title: StepTitle(whole, e.Answer.Step), Answer: *e.Answer, entries: i + 1}
		for _, r := range stored.Said() {
			if r.Kind == review.Comment && r.Step == e.Answer.Step {
				s.Said = append(s.Said, r)
			}
		}
		v.Steps = append(v.Steps, s)
	}
	return v, nil
}

// StepTitle is the title of a step of a visit, its id where the procedure of today
// knows none.
func StepTitle(v *visiting.Visit, step string) string {
	if p, ok := v.PromptFor(step); ok {
		return p.Step.Title
	}
	return procedure.StepTitle(step)
}

// ErrNoStep says that a visit has no step of a number.
var ErrNoStep = datafile.Error(func() string { return words().NoStep })

// Believed infers what was believed after step n, from 0, by the engine of today: it
// knows what the visit knew then. It takes an inference, and may run beside others.
func (d *Desk) Believed(v *Visit, n int) (*belief.Result, error) {
	if n < 0 || n >= len(v.Steps) {
		return nil, ErrNoStep
	}
	then, err := visiting.Resume(v.Content.Entries[:v.Steps[n].entries], nil)
	if err != nil {
		return nil, err
	}
	return d.Infer(then.Input())
}
