package ledger

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/office/triage"
)

// inOrder is the order in which a group is put away: visits by site, so that two
// programs wait for each other's rows in the same order and never in a ring; then
// what speaks of visits.
func inOrder(group []opened) []int {
	order := make([]int, len(group))
	for i := range order {
		order[i] = i
	}
	site := func(i int) string {
		if group[i].parcel.visit == nil {
			return ""
		}
		return group[i].visit.digest.Site
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := group[i].visit == nil, group[j].visit == nil
		switch {
		case a && !b:
			return 1
		case b && !a:
			return -1
		}
		return cmp.Or(cmp.Compare(site(i), site(j)), cmp.Compare(group[i].id, group[j].id), cmp.Compare(group[i].hash, group[j].hash))
	})
	return order
}

// put puts one file away.
func (w *work) put(p *parcel, names signature.Names) (Outcome, error) {
	o := Outcome{Name: p.name, ID: p.id}
	var err error
	switch {
	case p.reason != "":
		return w.setAside(p, o, p.reason, "")
	case p.visit != nil:
		o.Fate, err = w.putVisit(p.visit)
	case p.reviews != nil:
		if o.Fate, err = w.putReviews(p.reviews, names); err == nil { // it may have been quarantined before
			_, err = w.exec(`DELETE FROM aside WHERE hash = $1`, p.hash)
		}
	case p.practice != nil:
		o.Fate, err = w.putPractice(p.practice)
	default:
		o.Fate = Ignored
	}
	if aside := (*asideError)(nil); errors.As(err, &aside) {
		if p.packed == nil {
			p.packed = p.visit.packed
		}
		return w.setAside(p, o, aside.reason, aside.waits)
	}
	if err == nil && p.visit != nil && (o.Fate == TakenNew || o.Fate == TakenFurther) {
		err = w.takeWaiting(p.id, names)
	}
	return o, err
}

// An asideError says why something cannot be imported as things are.
type asideError struct {
	reason string
	waits  string // for the visit of this id
}

func (e *asideError) Error() string { return e.reason }

func (w *work) putVisit(v *visit) (Fate, error) {
	d := v.digest
	head := v.hashes[len(v.hashes)-1]
	due, err := w.atSite(d)
	if err != nil {
		return 0, err
	}
	n, err := w.exec(`INSERT INTO visits (id, site, staff, started, finished, condition, state, level, asks, due, head, reviews, last_review, handed_in, digest)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $8, $9, $10, 0, '', $11, $12) ON CONFLICT DO NOTHING`,
		d.ID, storable(d.Site), storable(d.Staff), millis(d.StartedAt), flag(d.Finished), storable(string(d.Condition)), review.StateOf(d.Finished, head, nil), d.Level, due, head, millis(w.now()), v.text)
	if err != nil {
		return 0, err
	}
	if n == 1 {
		_, err = w.exec(`INSERT INTO journals (id, journal) VALUES ($1, $2)`, d.ID, v.packed)
		return TakenNew, err
	}
	return w.goOn(v, head, due)
}

func flag(b bool) int {
	if b {
		return 1
	}
	return 0
}

// atSite makes the visit's site and staff known and says when the first of its
// actions is due that is still open. A visit that was finished leaves the actions
// to do; so what earlier visits of the site left is open no more. A visit that is dated
// ahead of now was made with a wrong clock: nobody knows what it came after, so it takes
// over from none, and any other takes over from it.
func (w *work) atSite(d Digest) (due int64, err error) {
	if _, err := w.exec(`INSERT INTO staff (staff) VALUES ($1) ON CONFLICT DO NOTHING`, storable(d.Staff)); err != nil {
		return 0, err
	}
	started, latest, finished := millis(d.StartedAt), int64(0), int64(0)
	right := triage.LastRight(w.now())
	ahead := d.StartedAt.After(right)
	if d.Finished && !ahead {
		finished = started
	}
	_, err = w.one(`INSERT INTO sites (site, latest) VALUES ($1, $2)
		ON CONFLICT (site) DO UPDATE SET latest = CASE WHEN excluded.latest > sites.latest THEN excluded.latest ELSE sites.latest END
		RETURNING latest`, []any{storable(d.Site), finished}, &latest)
	if err != nil {
		return 0, err
	}
	if started < latest {
		return 0, nil
	}
	if d.Finished && !ahead {
		_, err = w.exec(`UPDATE visits SET due = 0 WHERE site = $1 AND (started < $2 OR started > $3) AND due > 0`, storable(d.Site), started, millis(right))
	}
	return millis(d.Due), err
}

// goOn imports a visit whose id is here already.
func (w *work) goOn(v *visit, head string, due int64) (Fate, error) {
	d := v.digest
	var here, lastReview string
	if _, err := w.one(`SELECT head, last_review FROM visits WHERE id = $1`, []any{d.ID}, &here, &lastReview); err != nil {
		return 0, err
	}
	if here == head {
		return w.mend(v)
	}
	if !slices.Contains(v.hashes, here) {
		old, err := w.content(d.ID)
		switch {
		case err != nil:
			return 0, err
		case slices.Contains(old.Hashes, head):
			return TakenOlder, nil
		}
		return 0, &asideError{reason: record.ErrDiffers.Error()}
	}
	reviews, err := w.reviews(d.ID)
	if err != nil {
		return 0, err
	}
	n, err := w.exec(`UPDATE visits SET finished = $1, condition = $2, state = $3, asks = $4, level = CASE WHEN CAST($3 AS SMALLINT) > 2 THEN 0 ELSE CAST($4 AS SMALLINT) END, due = $5, head = $6, digest = $7, engine = '', differs = 0, again = ''
		WHERE id = $8 AND head = $9 AND last_review = $10`,
		flag(d.Finished), storable(string(d.Condition)), review.StateOf(d.Finished, head, entriesOf(reviews)), d.Level, due, head, v.text, d.ID, here, lastReview)
	if err == nil && n == 0 {
		err = errMoved
	}
	if err != nil {
		return 0, err
	}
	_, err = w.exec(`UPDATE journals SET journal = $1 WHERE id = $2`, v.packed, d.ID)
	return TakenFurther, err
}

// mend puts in the place of a visit that is damaged in the ledger the same visit from a
// file that is whole.
func (w *work) mend(v *visit) (Fate, error) {
	var text string
	if _, err := w.one(`SELECT digest FROM visits WHERE id = $1`, []any{v.digest.ID}, &text); err != nil {
		return 0, err
	}
	_, damage := w.content(v.digest.ID)
	if damage == nil && json.Valid([]byte(text)) {
		return TakenSame, nil
	}
	if _, err := w.exec(`UPDATE journals SET journal = $1 WHERE id = $2`, v.packed, v.digest.ID); err != nil {
		return 0, err
	}
	_, err := w.exec(`UPDATE visits SET digest = $1 WHERE id = $2`, v.text, v.digest.ID)
	return TakenFurther, err
}

// putReviews imports a file of reviews, as far as it goes on from what is here.
func (w *work) putReviews(list []review.Entry, names signature.Names) (Fate, error) {
	id := list[0].Visit
	var head, lastReview string
	var finished bool
	there, err := w.one(`SELECT head, last_review, finished = 1 FROM visits WHERE id = $1`, []any{id}, &head, &lastReview, &finished)
	if err != nil {
		return 0, err
	}
	if !there {
		return 0, &asideError{words().NoVisit, id}
	}
	seen, err := w.reviews(id)
	if err != nil {
		return 0, err
	}
	here := entriesOf(seen)
	switch shorter := min(len(here), len(list)); {
	case !slices.EqualFunc(here[:shorter], list[:shorter], func(a, b review.Entry) bool { return a.Hash == b.Hash }):
		return 0, &asideError{reason: words().OtherReviews}
	case len(list) == len(here):
		return TakenSame, nil
	case len(list) < len(here):
		return TakenOlder, nil
	}
	further, hashes := list[len(here):], []string{head}
	if slices.ContainsFunc(further, func(e review.Entry) bool { return e.Head != head }) { // over earlier answers
		c, err := w.content(id)
		if err != nil {
			return 0, err
		}
		hashes = c.Hashes
	}
	if doubts := review.Verify(id, hashes, further, names, w.alwaysNow); len(doubts) > 0 {
		d := doubts[0]
		if errors.Is(d, review.ErrOtherJournal) {
			return 0, &asideError{words().OtherVisit, id}
		}
		if err := w.refuse(d.Entry, d.Cause); err != nil {
			return 0, err
		}
		return 0, &asideError{reason: d.Error()}
	}
	n, err := w.exec(`UPDATE visits SET state = $1, level = CASE WHEN CAST($1 AS SMALLINT) > 2 THEN 0 ELSE asks END, reviews = $2, last_review = $3 WHERE id = $4 AND head = $5 AND last_review = $6`,
		review.StateOf(finished, head, list), len(list), review.Last(list), id, head, lastReview)
	if err == nil && n == 0 {
		err = errMoved
	}
	for i := 0; err == nil && i < len(further); i++ {
		err = w.insertReview(id, len(here)+i+1, further[i])
	}
	if len(here) == 0 {
		return TakenNew, err
	}
	return TakenFurther, err
}

func (w *work) insertReview(id string, place int, e review.Entry) error {
	_, err := w.exec(`INSERT INTO reviews (visit, place, line, recorded) VALUES ($1, $2, $3, $4)`, id, place, e.Line, millis(w.now()))
	return err
}

// putPractice imports results of practice that are not here yet.
func (w *work) putPractice(list []practicelog.Result) (Fate, error) {
	fate := TakenSame
	for _, r := range list {
		line, err := r.JSONLine()
		if err != nil {
			return 0, err
		}
		sum := sha256.Sum256(line)
		n, err := w.exec(`INSERT INTO practice (hash, who, at, line) VALUES ($1, $2, $3, $4) ON CONFLICT DO NOTHING`,
			hex.EncodeToString(sum[:]), storable(r.Who), millis(r.At), string(bytes.TrimSpace(line)))
		if err != nil {
			return 0, err
		}
		if n == 1 {
			fate = TakenNew
		}
	}
	return fate, nil
}

// setAside keeps a file that does not verify.
func (w *work) setAside(p *parcel, o Outcome, reason, waits string) (Outcome, error) {
	o.Fate, o.Reason, o.Waits = SetAside, reason, waits != ""
	_, err := w.exec(`INSERT INTO aside (hash, name, reason, waits, at, size, bytes) VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT DO NOTHING`,
		p.hash, storable(p.name), storable(reason), waits, millis(w.now()), p.size, nonNil(p.packed))
	return o, err
}

// takeWaiting imports the reviews that were quarantined until the visit came.
func (w *work) takeWaiting(id string, names signature.Names) error {
	rows, err := w.tx.QueryContext(w.ctx, `SELECT hash, bytes FROM aside WHERE waits = $1 ORDER BY at, hash`, id)
	if err != nil {
		return err
	}
	waiting := map[string][]byte{}
	var order []string
	for rows.Next() {
		var hash string
		var packed []byte
		if err := rows.Scan(&hash, &packed); err != nil {
			return errors.Join(err, rows.Close())
		}
		waiting[hash] = packed
		order = append(order, hash)
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil {
		return err
	}
	for _, hash := range order {
		data, err := w.opener.DecodeAll(waiting[hash], nil)
		if err != nil {
			return fmt.Errorf(words().AsideNotOpened, err)
		}
		p := parcel{}
		p.unpackReviews(data)
		aside := (*asideError)(nil)
		switch _, err := w.putReviews(p.reviews, names); {
		case err == nil:
			_, err = w.exec(`DELETE FROM aside WHERE hash = $1`, hash)
			if err != nil {
				return err
			}
		case errors.As(err, &aside):
			if _, err := w.exec(`UPDATE aside SET reason = $1, waits = $2 WHERE hash = $3`, storable(aside.reason), aside.waits, hash); err != nil {
				return err
			}
		default:
			return err
		}
	}
	return nil
}
