package ledger

import (
	"cmp"
	"context"
	"encoding/json"
	"slices"
	"time"

	"ampwalk/diagnose/office/triage"
	"ampwalk/diagnose/physics/condition"
)

// An Again is what an engine of a later day made of a visit's answers; the zero value
// is nothing. It belongs to the journal as it was: one that goes on has none.
type Again struct {
	Engine    string // that looked
	At        time.Time
	Condition condition.ID // the one it held most likely
	P         float64      // of that
	Differs   bool         // from what the visit concluded, so much that it needs attention
	Problem   string       `json:",omitempty"` // why there is nothing of this, "" where there is
}

// flag is why the visit needs attention for it.
func (a Again) flag() triage.Flag {
	return triage.Flag{Kind: triage.Differs, What: []string{cmp.Or(condition.Of(a.Condition).Title, string(a.Condition))}, P: a.P, By: a.Engine + ", " + a.At.UTC().Format(time.DateOnly)}
}

// Flags are why a visit needs attention on a day, the most urgent first; of the zero time
// nothing is overdue.
func (r Row) Flags(today time.Time) []triage.Flag {
	list := slices.Clone(r.Digest.Flags)
	if r.Again.Differs {
		list = append(list, r.Again.flag())
	}
	if r.overdue(today) {
		list = append(list, triage.Flag{Kind: triage.Overdue, What: []string{r.Due.UTC().Format(time.DateOnly)}})
	}
	return triage.Sorted(list)
}

func (r Row) overdue(today time.Time) bool { return !r.Due.IsZero() && r.Due.Before(today) }

// overdueLevel is how urgent overdue work is, whatever was decided.
var overdueLevel = triage.Flag{Kind: triage.Overdue}.Level()

// Level is how urgent a visit is on a day: 0 not at all, 3 first. One that was
// decided on asks for overdue work only.
func (r Row) Level(today time.Time) int {
	level := 0
	if !r.State.Decided() {
		level = r.asks()
	}
	if r.overdue(today) {
		level = max(level, overdueLevel)
	}
	return level
}

// asks is the level while nobody has decided.
func (r Row) asks() int {
	if r.Again.Differs {
		return max(r.Digest.Level, r.Again.flag().Level())
	}
	return r.Digest.Level
}

// KeepAgain keeps what was made of a visit as it is in r. If its journal went on
// meanwhile nothing is kept, and the error is [Overtaken].
func (l *Ledger) KeepAgain(ctx context.Context, r Row, a Again) (Row, error) {
	r.Again = a
	text, err := json.Marshal(a)
	if err != nil {
		return r, err
	}
	return r, l.inTx(ctx, func(w *work) error {
		if _, err := w.exec(`INSERT INTO engines (engine, since) VALUES ($1, $2) ON CONFLICT DO NOTHING`, storable(a.Engine), millis(w.now())); err != nil {
			return err
		}
		n, err := w.exec(`UPDATE visits SET engine = $1, differs = $2, again = $3, asks = $4, level = CASE WHEN state > 2 THEN 0 ELSE CAST($4 AS SMALLINT) END WHERE id = $5 AND head = $6`,
			storable(a.Engine), flag(a.Differs), storable(string(text)), r.asks(), r.Digest.ID, r.Head)
		if err == nil && n == 0 {
			err = &Overtaken{}
		}
		return err
	})
}

// Unseen are the ids of visits that wait for a decision and were not looked at again
// as they are now, by an engine or by one that the ledger met after it, the newest first.
func (l *Ledger) Unseen(ctx context.Context, engine string, limit int) ([]string, error) {
	return query(ctx, l, `SELECT id FROM visits WHERE `+unseen+` ORDER BY started DESC, id DESC LIMIT $2`, []any{storable(engine), limit}, text)
}

// CountUnseen is how many [Ledger.Unseen] would give.
func (l *Ledger) CountUnseen(ctx context.Context, engine string, most int) (n int, err error) {
	err = l.read(ctx, func(w *work) error {
		_, err := w.one(`SELECT count(*) FROM (SELECT 1 FROM visits WHERE `+unseen+` LIMIT $2) k`, []any{storable(engine), most}, &n)
		return err
	})
	return n, err
}

// unseen has review.HandedIn in figures, or its index does not apply.
const unseen = `state = 2 AND engine <> $1 AND engine NOT IN (
	SELECT later.engine FROM engines later JOIN engines mine ON mine.engine = $1
	WHERE later.since > mine.since OR later.since = mine.since AND later.engine > mine.engine)`
