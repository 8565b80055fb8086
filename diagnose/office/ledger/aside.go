package ledger

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/review"
)

// An Aside is a file that was handed in and did not verify.
type Aside struct {
	Hash   string // SHA-256 of its bytes
	Name   string
	Reason string
	Waits  string // for the visit of this id; "" for none
	At     time.Time
	Size   int64 // bytes
}

// An AsideCursor is a place in the list of what was quarantined.
type AsideCursor struct {
	At   int64
	Hash string
}

// Cursor is the place of a.
func (a Aside) Cursor() AsideCursor { return AsideCursor{millis(a.At), a.Hash} }

// Aside is a page of what was quarantined, the last first.
func (l *Ledger) Aside(ctx context.Context, after AsideCursor, limit int) (list []Aside, err error) {
	if after == (AsideCursor{}) {
		after.At = 1 << 62
	}
	return query(ctx, l, `SELECT hash, name, reason, waits, at, size FROM aside WHERE (at, hash) < ($1, $2) ORDER BY at DESC, hash DESC LIMIT $3`,
		[]any{after.At, after.Hash, limit}, func(scan func(...any) error) (a Aside, err error) {
			var at int64
			err = scan(&a.Hash, &a.Name, &a.Reason, &a.Waits, &at, &a.Size)
			a.At = moment(at)
			return a, err
		})
}

// AsideBytes are the bytes of a file that was quarantined; none where it was too
// large for a visit.
func (l *Ledger) AsideBytes(ctx context.Context, hash string) ([]byte, error) {
	list, err := query(ctx, l, `SELECT bytes FROM aside WHERE hash = $1`, []any{hash}, func(scan func(...any) error) (b []byte, err error) {
		err = scan(&b)
		return b, err
	})
	switch {
	case err != nil:
		return nil, err
	case len(list) == 0:
		return nil, fmt.Errorf(words().NotAside, hash)
	}
	return l.opener.DecodeAll(list[0], nil)
}

// A Refusal is a review that was not let in, since its key vouches for nobody.
type Refusal struct {
	Review review.Review
	Reason string
	At     time.Time
}

// Refusals are the last reviews that were not let in, the last first.
func (l *Ledger) Refusals(ctx context.Context, limit int) ([]Refusal, error) {
	return query(ctx, l, `SELECT line, reason, at FROM refusals ORDER BY at DESC, hash DESC LIMIT $1`, []any{limit}, func(scan func(...any) error) (r Refusal, err error) {
		var line []byte
		var at int64
		if err := scan(&line, &r.Reason, &at); err != nil {
			return r, err
		}
		r.At = moment(at)
		var said struct{ Review review.Review }
		err = json.Unmarshal(line, &said)
		r.Review = said.Review
		return r, err
	})
}

// A PracticeQuery is a page of results of practice.
type PracticeQuery struct {
	Who   string         // "": everybody's
	After PracticeCursor // the zero value: from the last one
	Limit int
}

// A PracticeCursor is a place in the list of results.
type PracticeCursor struct {
	At   int64
	Hash string
}

// A Practised is one result of practice.
type Practised struct {
	practicelog.Result
	Cursor PracticeCursor
}

// Practice is a page of the results of trainees, the last first.
func (l *Ledger) Practice(ctx context.Context, q PracticeQuery) ([]Practised, error) {
	if q.After == (PracticeCursor{}) {
		q.After.At = 1 << 62
	}
	text, args := `SELECT hash, line FROM practice WHERE (at, hash) < ($1, $2)`, []any{q.After.At, q.After.Hash, q.Limit}
	if q.Who != "" {
		text, args = text+` AND who = $4`, append(args, storable(q.Who))
	}
	return query(ctx, l, text+` ORDER BY at DESC, hash DESC LIMIT $3`, args, func(scan func(...any) error) (p Practised, err error) {
		var line string
		if err := scan(&p.Cursor.Hash, &line); err != nil {
			return p, err
		}
		err = json.Unmarshal([]byte(line), &p.Result)
		p.Cursor.At = millis(p.At)
		return p, err
	})
}

// Sites are the names of sites behind one, in their order.
func (l *Ledger) Sites(ctx context.Context, after string, limit int) ([]string, error) {
	return query(ctx, l, `SELECT site FROM sites WHERE site > $1 ORDER BY site LIMIT $2`, []any{after, limit}, text)
}

// Staff are the names of those who made visits, behind one, in their order.
func (l *Ledger) Staff(ctx context.Context, after string, limit int) ([]string, error) {
	return query(ctx, l, `SELECT staff FROM staff WHERE staff > $1 ORDER BY staff LIMIT $2`, []any{after, limit}, text)
}

func text(scan func(...any) error) (s string, err error) {
	err = scan(&s)
	return s, err
}

// query reads all rows of a statement.
func query[T any](ctx context.Context, l *Ledger, text string, args []any, read func(scan func(...any) error) (T, error)) (list []T, err error) {
	rows, err := l.db.QueryContext(ctx, text, args...)
	if err != nil {
		return nil, err
	}
	for rows.Next() {
		v, err := read(rows.Scan)
		if err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		list = append(list, v)
	}
	return list, errors.Join(rows.Err(), rows.Close())
}
