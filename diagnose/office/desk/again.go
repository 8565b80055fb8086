package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"time"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/physics/quantity"
)

// When a visit is said to be seen differently than it concluded (judgement): by how
// much the probability of what it concluded changed, and how far ahead of that
// something else must be now. Two engines, or one on two kinds of processor, differ by
// less where nothing is wrong with either.
const (
	otherwise = 0.2
	ahead     = 0.1
)

// Today is a visit with what the engine of today makes of it: as the ledger keeps it,
// or else worked out, which takes an inference, and kept.
func (d *Desk) Today(ctx context.Context, v *Visit) (*Visit, error) {
	if v.Again.Engine == d.Engine {
		return v, nil
	}
	var a ledger.Again
	if r, err := d.Afresh(v.Record.Input()); err != nil {
		a.Problem = err.Error()
	} else {
		now := r.Leader()
		a.Condition, a.P, a.Differs = now.ID, now.P, differs(v.Digest, r)
	}
	seen := *v
	var err error
	seen.Row, err = d.keep(ctx, v.Row, a)
	return &seen, err
}

// keep keeps what the engine of today made of a visit. Of one that went on meanwhile
// nothing is kept.
func (d *Desk) keep(ctx context.Context, r ledger.Row, a ledger.Again) (ledger.Row, error) {
	a.Engine, a.At = d.Engine, d.Now()
	r, err := d.Ledger.KeepAgain(ctx, r, a)
	if overtaken := (*ledger.Overtaken)(nil); errors.As(err, &overtaken) {
		err = nil
	}
	return r, err
}

// differs compares what is believed now with what a visit concluded.
func differs(then ledger.Digest, now *belief.Result) bool {
	if then.Condition == "" {
		return false
	}
	p := 0.0 // of what it concluded, now
	for _, c := range now.Conditions {
		if c.ID == then.Condition {
			p = c.P
		}
	}
	return math.Abs(p-then.P) >= otherwise || now.Leader().ID != then.Condition && now.Leader().P-p >= ahead
}

// maxCounted bounds a count, which is shown and not reckoned with.
const maxCounted = 9999

// Unseen is how many visits wait for a decision that the engine of today has not
// looked at again; no more are counted than maxCounted.
func (d *Desk) Unseen(ctx context.Context) (int, error) {
	return d.Ledger.CountUnseen(ctx, d.Engine, maxCounted)
}

// LookAgain looks at the newest of them with the engine of today. The row is that of
// the visit, with what was made of it; nil if there was none left.
func (d *Desk) LookAgain(ctx context.Context) (*ledger.Row, error) {
	ids, err := d.Ledger.Unseen(ctx, d.Engine, 1)
	if err != nil || len(ids) == 0 {
		return nil, err
	}
	stored, err := d.Ledger.Visit(ctx, ids[0])
	if err != nil {
		return nil, err
	}
	v, err := newVisit(stored)
	if err != nil { // made by another version; the others shall not wait for it
		row, err := d.keep(ctx, stored.Row, ledger.Again{Problem: err.Error()})
		return &row, err
	}
	v, err = d.Today(ctx, v)
	return &v.Row, err
}

// UnseenText says how many visits the engine of today has yet to look at, "" for none.
func UnseenText(n int) string {
	switch w := words().Again; {
	case n == 0:
		return ""
	case n >= maxCounted:
		return fmt.Sprintf(w.UnseenMany, maxCounted)
	default:
		return w.Unseen.Of(n)
	}
}

// AgainText says in a sentence or two what an engine made of a visit beside what it
// concluded, and which engine, where it is not the one of today.
func (d *Desk) AgainText(r ledger.Row) string {
	a, who := r.Again, words().Again.ThisVersion
	if a.Engine == "" {
		return words().Again.None
	}
	if a.Engine != d.Engine {
		who = fmt.Sprintf(words().Again.OtherVersion, a.Engine, a.At.Format(time.DateOnly))
	}
	now := fmt.Sprintf("%s (%s)", ConditionText(a.Condition), quantity.Percent(a.P))
	switch {
	case a.Problem != "":
		return fmt.Sprintf(words().Again.Problem, who, a.Problem)
	case r.Digest.Condition == "":
		return fmt.Sprintf(words().Again.NoConclusion, who, now)
	case a.Differs:
		return fmt.Sprintf(words().Again.Differs, ConditionText(r.Digest.Condition), quantity.Percent(r.Digest.P), who, now)
	default:
		return fmt.Sprintf(words().Again.Same, who, now)
	}
}
