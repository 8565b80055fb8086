package desk

import (
	"cmp"
	"context"
	"slices"

	"ampwalk/diagnose/office/ledger"
)

const (
	// PageRows is how many rows are loaded at a time, unless asked otherwise.
	PageRows = 50
	// maxLoaded bounds what a long scroll keeps in memory.
	maxLoaded = 8 * PageRows // rows
)

// A List is the part of a list of visits that is loaded. It is a value: what loads
// more of it gives another.
type List struct {
	Query        ledger.Query // filter and order
	Rows         []ledger.Row
	Above, Below bool // there may be more that are not loaded
}

// List loads the top of a list, or its end with q.Back.
func (d *Desk) List(ctx context.Context, q ledger.Query) (List, error) {
	q.Limit, q.Today = cmp.Or(q.Limit, PageRows), ledger.Day(d.Now())
	rows, err := d.Ledger.List(ctx, q)
	l := List{Query: q, Rows: rows}
	l.Query.Back = false
	l.Above, l.Below = q.Back && len(rows) == q.Limit, !q.Back && len(rows) == q.Limit
	return l, err
}

// Further loads the rows below what is loaded; at most maxLoaded stay.
func (d *Desk) Further(ctx context.Context, l List) (List, error) {
	if !l.Below || len(l.Rows) == 0 {
		return l, nil
	}
	q := l.Query
	q.After = l.Rows[len(l.Rows)-1].Place
	rows, err := d.Ledger.List(ctx, q)
	if err != nil {
		return l, err
	}
	l.Below = len(rows) == q.Limit
	l.Rows = slices.Concat(l.Rows, rows)
	if over := len(l.Rows) - maxLoaded; over > 0 {
		l.Rows, l.Above = slices.Clone(l.Rows[over:]), true
	}
	return l, nil
}

// Before loads the rows above what is loaded.
func (d *Desk) Before(ctx context.Context, l List) (List, error) {
	if !l.Above || len(l.Rows) == 0 {
		return l, nil
	}
	q := l.Query
	q.After, q.Back = l.Rows[0].Place, true
	rows, err := d.Ledger.List(ctx, q)
	if err != nil {
		return l, err
	}
	l.Above = len(rows) == q.Limit
	l.Rows = slices.Concat(rows, l.Rows)
	if len(l.Rows) > maxLoaded {
		l.Rows, l.Below = slices.Clone(l.Rows[:maxLoaded]), true
	}
	return l, nil
}

// Index is where the visit of an id stands among the rows, -1 if it is not loaded.
func (l List) Index(id string) int {
	return slices.IndexFunc(l.Rows, func(r ledger.Row) bool { return r.Digest.ID == id })
}

// With is the list with a visit as it is now, if it is loaded, where it stood before:
// what it is now may give it another place, which it takes when the list is loaded again.
func (l List) With(r ledger.Row) List {
	if i := l.Index(r.Digest.ID); i >= 0 {
		r.Place = l.Rows[i].Place
		l.Rows = slices.Clone(l.Rows)
		l.Rows[i] = r
	}
	return l
}
