// Package desk is what a supervisor does with the visits of a ledger: find those
// that need attention, walk one step by step with what was believed then, compare it
// with the site's earlier visits, comment, send back, accept.
//
// Start with [Desk], [List] and [Visit]. It draws nothing and reads no clock, no
// file and no terminal. Texts in what it gives are as they stand in the visits:
// who shows them makes them safe.
package desk

import (
	"context"
	"time"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/signature"
)

// A Desk is a ledger with what it takes to work on it.
type Desk struct {
	Ledger *ledger.Ledger
	Names  signature.Names
	Infer  visiting.Inferrer // may remember what it gave before
	Afresh visiting.Inferrer // for what the ledger keeps, so nobody else need remember it
	Engine string            // which build of the inference that is, for people and to tell it from others
	Now    func() time.Time
}

// Practice is a page of the results of trainees, the last first; who "" is everybody.
func (d *Desk) Practice(ctx context.Context, who string, after ledger.PracticeCursor) ([]ledger.Practised, error) {
	return d.Ledger.Practice(ctx, ledger.PracticeQuery{Who: who, After: after, Limit: PageRows})
}
