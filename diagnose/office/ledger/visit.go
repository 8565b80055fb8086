package ledger

import (
	"context"
	"fmt"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
)

// ErrNoVisit says that the ledger has no visit of an id.
var ErrNoVisit = datafile.Error(func() string { return words().NoSuchVisit })

// A Visit is one visit with all that was said of it.
type Visit struct {
	Row
	Content record.Content
	Reviews []Seen
}

// Said are the reviews without their witness.
func (v Visit) Said() []review.Entry { return entriesOf(v.Reviews) }

// Visit opens a visit, as it was handed in to the last byte.
func (l *Ledger) Visit(ctx context.Context, id string) (v Visit, err error) {
	err = l.read(ctx, func(w *work) error {
		rows, err := w.rows(`SELECT `+columns+` FROM visits v WHERE v.id = $1`, id)
		if err != nil {
			return err
		}
		if len(rows) == 0 {
			return fmt.Errorf("%w: %s", ErrNoVisit, id)
		}
		v.Row = rows[0]
		if v.Content, err = w.content(id); err != nil {
			return err
		}
		v.Reviews, err = w.reviews(id)
		return err
	})
	return v, err
}

// content is the journal of a visit that is in the ledger.
func (w *work) content(id string) (record.Content, error) {
	var packed []byte
	there, err := w.one(`SELECT journal FROM journals WHERE id = $1`, []any{id}, &packed)
	switch {
	case err != nil:
		return record.Content{}, err
	case !there:
		return record.Content{}, fmt.Errorf("%w: %s", ErrNoVisit, id)
	}
	data, err := w.opener.DecodeAll(packed, nil)
	if err != nil {
		return record.Content{}, fmt.Errorf(words().JournalNotOpened, id, err)
	}
	c, err := record.Parse(data)
	if err == nil {
		err = c.Damage
	}
	if err != nil {
		return record.Content{}, fmt.Errorf(words().JournalInLedger, id, err)
	}
	return c, nil
}
