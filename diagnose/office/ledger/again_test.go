package ledger

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
)

// What an engine sees is kept with its name and the day, counts among what needs attention,
// and is gone once the journal goes on. Another engine has not looked yet.
func TestLookedAtAgain(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		people, names := persons(t, "S. Visor")
		handIn(t, l, names, files("a", visitOf(t, "a", "Dry Ridge", 2, true), "b", visitOf(t, "b", "Dry Ridge", 2, true), "c", visitOf(t, "c", "Dry Ridge", 2, false)))
		unseen := func(engine string) []string {
			t.Helper()
			ids, err := l.Unseen(ctx, engine, 10)
			require.NoError(t, err)
			n, err := l.CountUnseen(ctx, engine, 10)
			require.NoError(t, err)
			assert.Len(t, ids, n)
			return ids
		}
		assert.Equal(t, []string{"b", "a"}, unseen("two"), "not those under way")

		seen := Again{Engine: "two", At: now, Condition: condition.StringOpen, P: 0.7, Differs: true}
		r := visitIn(t, l, "a").Row
		level := r.Level(now)
		r, err := l.KeepAgain(ctx, r, seen)
		require.NoError(t, err)
		assert.Equal(t, seen, r.Again)
		found, err := l.List(ctx, Query{Filter: Filter{Differs: true}, Limit: 5})
		require.NoError(t, err)
		assert.Equal(t, []string{"a"}, idsOf(found))
		assert.Equal(t, seen, found[0].Again)
		assert.Equal(t, max(level, 2), found[0].Level(now))
		texts := ""
		for _, f := range found[0].Flags(now) {
			texts += f.Text()
		}
		assert.Contains(t, texts, "Another version of the program gives another result: "+condition.Of(condition.StringOpen).Title+" (70 %), by two, 2026-12-01.")
		assert.Equal(t, []string{"b"}, unseen("two"))
		assert.Equal(t, []string{"b", "a"}, unseen("three"))

		require.NoError(t, l.Review(ctx, people[0].says(t, visitIn(t, l, "b"), review.Accept, "as found"), names))
		assert.Empty(t, unseen("two"), "one seen, one decided")

		old := visitIn(t, l, "a").Row
		longer := append(visitOf(t, "a", "Dry Ridge", 2, true), nextLines(t, "a", 2, 1)...)
		assert.Equal(t, TakenFurther, handIn(t, l, signature.Names{}, files("a", longer))["a"].Fate)
		fresh := visitIn(t, l, "a")
		assert.Equal(t, Again{}, fresh.Again)
		assert.Equal(t, fresh.Digest.Level, fresh.Level(now))
		found, err = l.List(ctx, Query{Filter: Filter{Differs: true}, Limit: 5})
		require.NoError(t, err)
		assert.Empty(t, found)
		_, err = l.KeepAgain(ctx, old, seen)
		overtaken := (*Overtaken)(nil)
		require.ErrorAs(t, err, &overtaken, "what was made of the journal as it was")
	})
}

// Two desks of different builds do not look at the same visits in turn for ever: what
// the later one saw the earlier one leaves, whichever opened first that day.
func TestEarlierEngineLeavesWhatALaterOneSaw(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		day := now
		l, err := Open(ctx, where, func() time.Time { return day })
		require.NoError(t, err)
		t.Cleanup(func() { require.NoError(t, l.Close()) })
		handIn(t, l, signature.Names{}, files("a", visitOf(t, "a", "Dry Ridge", 2, true), "b", visitOf(t, "b", "Dry Ridge", 2, true)))
		look := func(engine string) (looked int) {
			t.Helper()
			for ; looked < 5; looked++ {
				ids, err := l.Unseen(ctx, engine, 1)
				require.NoError(t, err)
				if len(ids) == 0 {
					break
				}
				_, err = l.KeepAgain(ctx, visitIn(t, l, ids[0]).Row, Again{Engine: engine, At: day})
				require.NoError(t, err)
			}
			return looked
		}
		assert.Equal(t, 2, look("the old one"))
		day = day.AddDate(0, 0, 1)
		assert.Equal(t, 2, look("a new one"))
		assert.Zero(t, look("the old one"))
		assert.Zero(t, look("a new one"))

		// Of two that the ledger met at once either is the later one, but only one.
		assert.Equal(t, 2, look("of the same moment"))
		assert.Zero(t, look("a new one"))
	})
}

// A visit that was decided on asks for no eyes, until it goes on; overdue work does,
// whatever was decided.
func TestDecidedAsksForNoEyes(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		people, names := persons(t, "S. Visor")
		left := &visiting.Conclusion{Conditions: []visiting.ConditionPosterior{{ID: condition.BatteryWorn, Probability: 0.9}}, Left: []visiting.Outstanding{{Condition: condition.BatteryWorn, Due: "2026-11-30"}}}
		handIn(t, l, names, files("a", visitOf(t, "a", "Dry Ridge", 2, true), "b", concluded(t, head("b", "Long Bay"), left)))
		asking := func(today time.Time) []string {
			t.Helper()
			f := Filter{Attention: true, Today: today}
			list, err := l.List(ctx, Query{Filter: f, Order: Urgent, Limit: 9})
			require.NoError(t, err)
			n, err := l.Count(ctx, f, 9)
			require.NoError(t, err)
			assert.Len(t, list, n)
			return idsOf(list)
		}
		assert.Equal(t, []string{"a"}, asking(Day(now.AddDate(0, 0, -1))), "on its last day it is not overdue")
		assert.Equal(t, []string{"b", "a"}, asking(Day(now)))

		require.NoError(t, l.Review(ctx, people[0].says(t, visitIn(t, l, "a"), review.SendBack, "which fuse?"), names))
		e := people[0].says(t, visitIn(t, l, "b"), review.Accept, "as found")
		assert.Equal(t, TakenNew, handIn(t, l, names, files("b", e.Line))["b"].Fate)
		assert.Equal(t, []string{"b"}, asking(Day(now)))
		assert.Empty(t, asking(time.Time{}))

		longer := append(visitOf(t, "a", "Dry Ridge", 2, true), nextLines(t, "a", 2, 1)...)
		assert.Equal(t, TakenFurther, handIn(t, l, names, files("a", longer))["a"].Fate)
		v := visitIn(t, l, "a")
		assert.Equal(t, v.Digest.Level, v.Level(time.Time{}))
	})
}
