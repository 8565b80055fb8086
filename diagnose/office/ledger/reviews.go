package ledger

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"time"

	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
)

// A Seen is a review with the time that the ledger had it, which is a better
// witness than the signer's own clock.
type Seen struct {
	review.Entry
	RecordedAt time.Time
}

func entriesOf(list []Seen) []review.Entry {
	entries := make([]review.Entry, len(list))
	for i, s := range list {
		entries[i] = s.Entry
	}
	return entries
}

// An Overtaken says that a visit is no more what the supervisor saw: another was
// quicker, or the staff went on with it.
type Overtaken struct {
	By *review.Entry // what another said of the visit meanwhile; nil: its journal goes on
}

func (o *Overtaken) Error() string {
	if o.By == nil {
		return words().GoneOn
	}
	return fmt.Sprintf(words().ReviewedFirst, o.By.Who, o.By.Kind.Text(), o.By.At.Format("2006-01-02 15:04"))
}

// A Refused says why a review was not let in. The ledger keeps that it was tried.
type Refused struct{ Cause error }

func (r *Refused) Error() string { return fmt.Sprintf(words().Refused, r.Cause) }

func (r *Refused) Unwrap() error { return r.Cause }

// Review adds to a visit what a supervisor says of it, signed to follow the last
// review that he saw and over the journal that he saw. If either is not the last
// any more the error is [Overtaken]; so of two who decide at once one is told of
// the other. If the key that signed does not vouch for the name, it is [Refused].
func (l *Ledger) Review(ctx context.Context, e review.Entry, names signature.Names) error {
	var refused *Refused
	err := l.inTx(ctx, func(w *work) (err error) {
		refused, err = w.review(e, names)
		return err
	})
	if err == nil && refused != nil {
		return refused
	}
	return err
}

func (w *work) review(e review.Entry, names signature.Names) (*Refused, error) {
	if err := names.Vouch(e.Key, e.Who, e.At, w.now()); err != nil {
		return &Refused{err}, w.refuse(e, err)
	}
	var head, last string
	var finished bool
	there, err := w.one(`SELECT head, last_review, finished = 1 FROM visits WHERE id = $1`, []any{e.Visit}, &head, &last, &finished)
	switch {
	case err != nil:
		return nil, err
	case !there:
		return nil, fmt.Errorf("%w: %s", ErrNoVisit, e.Visit)
	}
	seen, err := w.reviews(e.Visit)
	if err != nil {
		return nil, err
	}
	list := append(entriesOf(seen), e)
	if _, err := review.Parse(review.Bytes(list)); err != nil {
		if len(seen) == 0 {
			return nil, err // it follows what was never here
		}
		return nil, &Overtaken{&seen[len(seen)-1].Entry}
	}
	if e.Head != head {
		return nil, &Overtaken{}
	}
	n, err := w.exec(`UPDATE visits SET state = $1, level = CASE WHEN CAST($1 AS SMALLINT) > 2 THEN 0 ELSE asks END, reviews = $2, last_review = $3 WHERE id = $4 AND head = $5 AND last_review = $6`,
		review.StateOf(finished, head, list), len(list), e.Hash, e.Visit, head, last)
	if err == nil && n == 0 {
		err = errMoved
	}
	if err != nil {
		return nil, err
	}
	return nil, w.insertReview(e.Visit, len(list), e)
}

// reviews are those of a visit, in their order.
func (w *work) reviews(id string) (list []Seen, err error) {
	rows, err := w.tx.QueryContext(w.ctx, `SELECT line, recorded FROM reviews WHERE visit = $1 ORDER BY place`, id)
	if err != nil {
		return nil, err
	}
	var all bytes.Buffer
	var times []time.Time
	for rows.Next() {
		var line []byte
		var at int64
		if err := rows.Scan(&line, &at); err != nil {
			return nil, errors.Join(err, rows.Close())
		}
		all.Write(line)
		times = append(times, moment(at))
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return nil, err
	}
	entries, err := review.Parse(all.Bytes())
	if err != nil {
		return nil, fmt.Errorf(words().InLedger, err)
	}
	for i, e := range entries {
		list = append(list, Seen{e, times[i]})
	}
	return list, nil
}

// refuse records a review that was not let in.
func (w *work) refuse(e review.Entry, cause error) error {
	_, err := w.exec(`INSERT INTO refusals (hash, visit, reason, at, line) VALUES ($1, $2, $3, $4, $5) ON CONFLICT DO NOTHING`,
		e.Hash, storable(e.Visit), storable(cause.Error()), millis(w.now()), e.Line)
	return err
}

// alwaysNow is the witness of what the ledger sees for the first time.
func (w *work) alwaysNow(review.Entry) time.Time { return w.now() }
