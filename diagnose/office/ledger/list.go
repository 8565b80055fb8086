package ledger

import (
	"context"
	"encoding/json"
	"errors"
	"iter"
	"slices"
	"time"

	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/physics/condition"
)

// A Filter says which visits are wanted; the zero value wants all.
type Filter struct {
	Site, Staff string       // exactly
	From        time.Time    // begun then or later
	Before      time.Time    // begun earlier
	Condition   condition.ID // the one held most likely
	State       review.State
	Attention   bool      // it needs attention
	Overdue     bool      // work that it left to be done is overdue
	Differs     bool      // looked at again, it was seen differently
	Today       time.Time // what was due before is overdue, and needs attention; zero: nothing is
}

// Day is the day of a moment, where it is, as the ledger has days.
func Day(at time.Time) time.Time {
	y, m, d := at.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, time.UTC)
}

// An Order is that of a list. Equal ones stand by their ids.
type Order int

// The orders.
const (
	Newest   Order = iota // by start, the last first
	Oldest                // by start
	Urgent                // what asks most for eyes first, among equals the newest
	DueFirst              // what is due first; only visits with an action that is open
)

// A Query is one page of a list.
type Query struct {
	Filter
	Order Order
	After Cursor // go on behind this row; the zero value: from the top
	Back  bool   // the page before that row instead; from the zero value: the last page
	Limit int    // rows at most
}

// A Cursor is a place in a list, which stays where it is while visits come and go.
type Cursor struct {
	Level   int
	Started int64
	Due     int64
	ID      string
}

// A Row is one visit of a list.
type Row struct {
	Digest     Digest
	State      review.State
	Due        time.Time // of the first action that is open; zero: none
	Head       string    // fingerprint of the journal
	Reviews    int
	LastReview string // what the next review follows
	HandedInAt time.Time
	Again      Again
	Place      Cursor // in any list that has it, when it was read
}

func (r Row) cursor(today time.Time) Cursor {
	return Cursor{r.Level(today), millis(r.Digest.StartedAt), millis(r.Due), r.Digest.ID}
}

// columns are a row's, for [work.rows].
const columns = `v.id, ` + `v.digest, v.state, v.due, v.head, v.reviews, v.last_review, v.handed_in, v.again`

func (w *work) rows(text string, args ...any) (list []Row, err error) {
	var broken []int // in list
	found, err := w.tx.QueryContext(w.ctx, text, args...)
	if err != nil {
		return nil, err
	}
	for found.Next() {
		var r Row
		var id, digest, again string
		var due, handedIn int64
		err := found.Scan(&id, &digest, &r.State, &due, &r.Head, &r.Reviews, &r.LastReview, &handedIn, &again)
		if err != nil {
			return nil, errors.Join(err, found.Close())
		}
		if json.Unmarshal([]byte(digest), &r.Digest) != nil || r.Digest.ID != id {
			r.Digest = Digest{ID: id}
			broken = append(broken, len(list))
		}
		if json.Unmarshal([]byte(again), &r.Again) != nil {
			r.Again = Again{} // nothing, or nothing that can be read: it is looked at again
		}
		r.Due, r.HandedInAt = moment(due), moment(handedIn)
		list = append(list, r)
	}
	if err := errors.Join(found.Err(), found.Close()); err != nil {
		return nil, err
	}
	for _, i := range broken {
		list[i].Digest = w.digestAfresh(list[i].Digest.ID)
	}
	return list, nil
}

// digestAfresh is what the lists say of a visit whose row is damaged, so that it stops no
// list and no report: by its journal, or else that it is damaged.
func (w *work) digestAfresh(id string) Digest {
	c, err := w.content(id)
	if err != nil {
		return Digest{ID: id, Site: words().DamagedRow}
	}
	return digestOf(c, w.now())
}

// List is one page of visits.
func (l *Ledger) List(ctx context.Context, q Query) (list []Row, err error) {
	if len(q.runs()) == 0 { // nothing is as urgent as where it goes on
		return nil, nil
	}
	err = l.read(ctx, func(w *work) error {
		text, args := q.page()
		list, err = w.rows(text, args...)
		return err
	})
	for i, r := range list {
		list[i].Place = r.cursor(q.Today)
	}
	if q.Back {
		slices.Reverse(list)
	}
	return list, err
}

// Count is the number of visits that a filter lets through, counted up to most, so
// that it takes no longer the larger the ledger.
func (l *Ledger) Count(ctx context.Context, f Filter, most int) (n int, err error) {
	err = l.read(ctx, func(w *work) error {
		text, args := Query{Filter: f, Limit: most}.count()
		_, err := w.one(text, args, &n)
		return err
	})
	return n, err
}

// pageOf is how many rows are read at a time by [Ledger.Rows].
const pageOf = 500

// Rows gives all visits that a filter lets through. It holds no transaction open:
// what comes in behind the place where it is will be among them.
func (l *Ledger) Rows(ctx context.Context, f Filter, order Order) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		q := Query{Filter: f, Order: order, Limit: pageOf}
		for {
			page, err := l.List(ctx, q)
			if err != nil {
				yield(Row{}, err)
				return
			}
			for _, r := range page {
				if !yield(r, nil) {
					return
				}
			}
			if len(page) < q.Limit {
				return
			}
			q.After = page[len(page)-1].Place
		}
	}
}
