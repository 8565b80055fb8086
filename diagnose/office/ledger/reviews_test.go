package ledger

import (
	"context"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
)

func TestReview(t *testing.T) {
	people, names := persons(t, "S. Visor")
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		handIn(t, l, names, files("1"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 2, true)))
		v := visitIn(t, l, "a-visit")
		assert.Equal(t, review.HandedIn, v.State)

		require.NoError(t, l.Review(ctx, people[0].says(t, v, review.Comment, "Well done."), names))
		v = visitIn(t, l, "a-visit")
		assert.Equal(t, review.HandedIn, v.State, "a comment decides nothing")
		require.NoError(t, l.Review(ctx, people[0].says(t, v, review.Accept, "sound"), names))
		v = visitIn(t, l, "a-visit")
		assert.Equal(t, review.Accepted, v.State)
		require.Len(t, v.Reviews, 2)
		assert.Equal(t, now, v.Reviews[1].RecordedAt)
		assert.Empty(t, review.Verify("a-visit", v.Content.Hashes, v.Said(), names, nil))

		page, err := l.List(ctx, Query{Filter: Filter{State: review.Accepted}, Limit: 2})
		require.NoError(t, err)
		require.Len(t, page, 1)
		assert.Equal(t, 2, page[0].Reviews)

		e := people[0].says(t, v, review.Comment, "x")
		e.Visit = "not-there"
		require.ErrorIs(t, l.Review(ctx, e, names), ErrNoVisit)
	})
}

// What somebody says whose key is bound to no name, to another's, or was revoked
// changes nothing and is recorded.
func TestReviewRefused(t *testing.T) {
	people, all := persons(t, "S. Visor", "R. Evoked")
	names, err := signature.ParseNames("names.toml", []byte(`[[person]]
name = "R. Evoked"
key = "`+people[1].key.Public()+`"
from = 2026-01-01T00:00:00Z
revoked = 2026-11-30T00:00:00Z
reason = "lost"
`))
	require.NoError(t, err)
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		handIn(t, l, names, files("1"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 2, true)))
		v := visitIn(t, l, "a-visit")
		for i, p := range []person{people[0], people[1], {"R. Evoked", people[0].key}} {
			for range 2 { // recorded once
				err := l.Review(ctx, p.says(t, v, review.Accept, "sound"), names)
				refused := (*Refused)(nil)
				require.ErrorAs(t, err, &refused)
			}
			assert.Equal(t, v.Row, visitIn(t, l, "a-visit").Row)
			list, err := l.Refusals(ctx, 10)
			require.NoError(t, err)
			require.Len(t, list, i+1)
		}
		list, err := l.Refusals(ctx, 10)
		require.NoError(t, err)
		for _, r := range list {
			assert.Equal(t, "a-visit", r.Review.Visit)
			assert.Equal(t, now, r.At)
			assert.NotEmpty(t, r.Reason)
		}

		// The same by a file: it is quarantined, and recorded.
		e := people[0].says(t, v, review.Accept, "by mail")
		got := handIn(t, l, names, files("r"+review.Suffix, e.Line))
		assert.Equal(t, SetAside, got["r"+review.Suffix].Fate)
		list, err = l.Refusals(ctx, 10)
		require.NoError(t, err)
		assert.Len(t, list, 4)
		assert.Equal(t, review.HandedIn, visitIn(t, l, "a-visit").State)

		// A names file put right lets it in.
		got = handIn(t, l, all, files("r"+review.Suffix, e.Line))
		assert.Equal(t, TakenNew, got["r"+review.Suffix].Fate)
		assert.Equal(t, review.Accepted, visitIn(t, l, "a-visit").State)
		aside, err := l.Aside(ctx, AsideCursor{}, 10)
		require.NoError(t, err)
		assert.Empty(t, aside)
	})
}

// Of all who decide one visit at once, one does, and each of the others is told who.
func TestTwoCannotBothDecide(t *testing.T) {
	people, names := persons(t, "A. Visor", "B. Visor", "C. Visor")
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		handIn(t, l, names, files("1"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 2, true)))
		for round := range 10 {
			v := visitIn(t, l, "a-visit")
			errs := make([]error, len(people))
			var all sync.WaitGroup
			for i, p := range people {
				desk, err := Open(ctx, where, clock) // a program of its own
				require.NoError(t, err)
				e := p.says(t, v, []review.Kind{review.Accept, review.SendBack}[(i+round)%2], "so")
				all.Go(func() {
					errs[i] = desk.Review(ctx, e, names)
					assert.NoError(t, desk.Close())
				})
			}
			all.Wait()
			after := visitIn(t, l, "a-visit")
			require.Len(t, after.Reviews, round+1)
			by := after.Reviews[round].Who
			for i, err := range errs {
				if people[i].name == by {
					require.NoError(t, err)
					continue
				}
				overtaken := (*Overtaken)(nil)
				require.ErrorAs(t, err, &overtaken)
				assert.Equal(t, by, overtaken.By.Who)
				assert.ErrorContains(t, err, by)
			}
		}
	})
}

// Who decides on what was seen does not decide on answers that came meanwhile.
func TestDecisionOnAVisitThatWentOn(t *testing.T) {
	people, names := persons(t, "S. Visor")
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		handIn(t, l, names, files("1"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 2, false)))
		seen := visitIn(t, l, "a-visit")
		handIn(t, l, names, files("2"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 4, true)))
		err := l.Review(ctx, people[0].says(t, seen, review.SendBack, "Why?"), names)
		overtaken := (*Overtaken)(nil)
		require.ErrorAs(t, err, &overtaken)
		assert.Nil(t, overtaken.By)

		// A question stays while the visit goes on from it.
		require.NoError(t, l.Review(ctx, people[0].says(t, visitIn(t, l, "a-visit"), review.SendBack, "Why?"), names))
		further := append(visitOf(t, "a-visit", "Dry Ridge", 4, true), nextLines(t, "a-visit", 4, 2)...)
		got := handIn(t, l, names, files("3"+record.Suffix, further))
		require.Equal(t, TakenFurther, got["3"+record.Suffix].Fate)
		v := visitIn(t, l, "a-visit")
		assert.Equal(t, review.UnderWay, v.State)
		assert.Equal(t, "Why?", v.Reviews[0].Text)
		assert.Empty(t, review.Verify("a-visit", v.Content.Hashes, v.Said(), names, nil))
	})
}

// A decision that is broken off leaves nothing behind.
func TestReviewBrokenOff(t *testing.T) {
	people, names := persons(t, "S. Visor")
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		handIn(t, l, names, files("1"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 2, true)))
		v := visitIn(t, l, "a-visit")
		e := people[0].says(t, v, review.Accept, "sound")
		broken, cancel := context.WithCancel(ctx)
		err := l.inTx(broken, func(w *work) error {
			if _, err := w.review(e, names); err != nil {
				return err
			}
			cancel()
			return nil
		})
		require.Error(t, err)
		assert.Equal(t, v, visitIn(t, l, "a-visit"))
	})
}
