package ledger

import (
	"cmp"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
)

// wanted is what a list is, said as plainly as can be.
func wanted(all []Row, f Filter, o Order) []Row {
	list := slices.DeleteFunc(slices.Clone(all), func(r Row) bool {
		at := r.Digest.StartedAt
		return f.Site != "" && r.Digest.Site != f.Site || f.Staff != "" && r.Digest.Staff != f.Staff ||
			!f.From.IsZero() && at.Before(f.From) || !f.Before.IsZero() && !at.Before(f.Before) ||
			f.Condition != "" && r.Digest.Condition != f.Condition || f.State != 0 && r.State != f.State ||
			f.Attention && r.Level(f.Today) == 0 || f.Differs && !r.Again.Differs || f.Overdue && (r.Due.IsZero() || !r.Due.Before(f.Today)) ||
			o == DueFirst && r.Due.IsZero()
	})
	slices.SortFunc(list, func(a, b Row) int {
		start := cmp.Or(a.Digest.StartedAt.Compare(b.Digest.StartedAt), cmp.Compare(a.Digest.ID, b.Digest.ID))
		switch o {
		case Newest:
			return -start
		case Oldest:
			return start
		case Urgent:
			return cmp.Or(b.Level(f.Today)-a.Level(f.Today), -start)
		default:
			return cmp.Or(a.Due.Compare(b.Due), cmp.Compare(a.Digest.ID, b.Digest.ID))
		}
	})
	return list
}

// rows are visits that differ in all that a list can be filtered and ordered by,
// with equals among them.
func rows(t *testing.T, l *Ledger) (all []Row) {
	t.Helper()
	require.NoError(t, l.inTx(ctx, func(w *work) error {
		for i := range 120 {
			d := Digest{
				ID: fmt.Sprintf("v%03d", i*37%120), Site: fmt.Sprint("site ", i%3), Staff: fmt.Sprint("staff ", i%4), StartedAt: start.Add(time.Duration(i%40) * time.Hour),
				Condition: []condition.ID{condition.Sound, condition.ArrayOpen}[i%2], Level: i % 4,
			}
			r := Row{Digest: d, State: review.States[i/2%4], Due: moment(int64(i%5) * 1000)}
			_, err := w.exec(`INSERT INTO visits (id, site, staff, started, finished, condition, state, asks, level, due, head, reviews, last_review, handed_in, digest)
				VALUES ($1, $2, $3, $4, 1, $5, $6, $7, $8, $9, '', 0, '', 0, $10)`, d.ID, d.Site, d.Staff, millis(d.StartedAt), string(d.Condition), r.State, d.Level, r.Level(time.Time{}), millis(r.Due), asJSON(t, d))
			if err != nil {
				return err
			}
			all = append(all, r)
		}
		return nil
	}))
	for i := range all {
		if i%3 == 0 { // most were looked at again
			continue
		}
		var err error
		all[i], err = l.KeepAgain(ctx, all[i], Again{Engine: "of today", At: now, Condition: condition.StringOpen, P: 0.7, Differs: i%7 == 0})
		require.NoError(t, err)
	}
	return all
}

func asJSON(t *testing.T, d Digest) string {
	t.Helper()
	text, err := json.Marshal(d)
	require.NoError(t, err)
	return string(text)
}

func idsOf(list []Row) []string {
	ids := []string{}
	for _, r := range list {
		ids = append(ids, r.Digest.ID)
	}
	return ids
}

// Any list, read page by page from either end, is what plain filtering and sorting
// of everything gives, and its count is its length.
func TestListsAgainstPlainFiltering(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		all := rows(t, l)
		byID := map[string]Row{}
		for _, r := range all {
			byID[r.Digest.ID] = r
		}
		rapid.Check(t, func(t *rapid.T) {
			maybe := func(name string) bool { return rapid.IntRange(0, 2).Draw(t, name) == 0 }
			var f Filter
			if maybe("by site") {
				f.Site = fmt.Sprint("site ", rapid.IntRange(0, 3).Draw(t, "site"))
			}
			if maybe("by staff") {
				f.Staff = fmt.Sprint("staff ", rapid.IntRange(0, 4).Draw(t, "staff"))
			}
			if maybe("from") {
				f.From = start.Add(time.Duration(rapid.IntRange(0, 40).Draw(t, "hour")) * time.Hour)
			}
			if maybe("before") {
				f.Before = start.Add(time.Duration(rapid.IntRange(0, 41).Draw(t, "hour")) * time.Hour)
			}
			if maybe("by condition") {
				f.Condition = rapid.SampledFrom([]condition.ID{condition.Sound, condition.ArrayOpen, condition.CellShort}).Draw(t, "condition")
			}
			if maybe("by state") {
				f.State = rapid.SampledFrom(review.States).Draw(t, "state")
			}
			f.Attention, f.Differs = maybe("attention"), maybe("differs")
			f.Overdue = maybe("overdue")
			f.Today = moment(int64(rapid.IntRange(0, 6).Draw(t, "today")) * 1000)
			q := Query{Filter: f, Order: Order(rapid.IntRange(0, 3).Draw(t, "order")), Limit: rapid.IntRange(1, 50).Draw(t, "limit"), Back: rapid.Bool().Draw(t, "back")}
			want := idsOf(wanted(all, f, q.Order))
			var got []string
			for {
				page, err := l.List(ctx, q)
				require.NoError(t, err)
				ids := idsOf(page)
				if q.Back {
					got = append(ids, got...)
				} else {
					got = append(got, ids...)
				}
				if len(page) < q.Limit {
					break
				}
				edge := ids[len(ids)-1]
				if q.Back {
					edge = ids[0]
				}
				q.After = byID[edge].cursor(f.Today)
			}
			assert.Equal(t, want, append([]string{}, got...))
			if q.Order != DueFirst {
				n, err := l.Count(ctx, f, 1000)
				require.NoError(t, err)
				assert.Equal(t, len(want), n)
				n, err = l.Count(ctx, f, 3)
				require.NoError(t, err)
				assert.Equal(t, min(3, len(want)), n)
			}
		})
	})
}

// The runs of a list are read in their order, each from one index. SQLite says how
// it reads: a run that had to be sorted would need a tree of its own, one that had no
// index would be a scan of the table.
func TestRunsAreReadInOrder(t *testing.T) {
	l := open(t, filepath.Join(t.TempDir(), "the.ledger"))
	filters := map[string]Filter{
		"none": {}, "condition": {Condition: "sound"}, "state": {State: review.HandedIn}, "attention": {Attention: true},
		"all but": {Condition: "sound", State: review.Accepted, Overdue: true}, "dates": {From: start, Before: now}, "overdue": {Overdue: true}, "overdue and more": {Condition: "sound", State: review.HandedIn, Attention: true, Overdue: true}, "site": {Site: "x"}, "staff": {Staff: "x"},
		"differs": {Differs: true}, "differs and more": {Differs: true, Condition: "sound", State: review.HandedIn, Attention: true, Overdue: true, From: start},
	}
	for name, f := range filters {
		for _, o := range []Order{Newest, Oldest, Urgent, DueFirst} {
			for _, back := range []bool{false, true} {
				f.Today = now
				q := Query{Filter: f, Order: o, Back: back, After: Cursor{Level: 1, Started: 1, Due: 1, ID: "m"}, Limit: 50}
				for _, r := range q.runs() {
					var s statement
					s.WriteString("EXPLAIN QUERY PLAN ")
					q.run(&s, r)
					plan, err := query(ctx, l, s.String(), s.args, func(scan func(...any) error) (detail string, err error) {
						var a, b, c any
						err = scan(&a, &b, &c, &detail)
						return detail, err
					})
					require.NoError(t, err)
					whole := strings.Join(plan, "; ")
					assert.Contains(t, whole, " INDEX ", "%s, order %d, %+v", name, o, r)
					if f.Differs {
						assert.Contains(t, whole, " INDEX visits_differ", "%s, order %d, %+v", name, o, r)
					}
					if (f.Site == "" && f.Staff == "") || o == Newest || o == Oldest { // else few enough to sort
						assert.NotContains(t, whole, "TEMP B-TREE", "%s, order %d, %+v", name, o, r)
					}
				}
			}
		}
	}
}

func TestRowsGivesAllOfThem(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		var pairs []any
		for n := range pageOf + 10 {
			pairs = append(pairs, fmt.Sprint(n), visitOf(t, fmt.Sprintf("v%04d", n), "Dry Ridge", 0, true))
		}
		handIn(t, l, signature.Names{}, files(pairs...))
		seen := map[string]bool{}
		for r, err := range l.Rows(ctx, Filter{Site: "Dry Ridge"}, Oldest) {
			require.NoError(t, err)
			seen[r.Digest.ID] = true
			if len(seen) == 3 {
				handIn(t, l, signature.Names{}, files("late", visitOf(t, "v-late", "Dry Ridge", 0, true))) // the ledger is not held up
			}
		}
		assert.GreaterOrEqual(t, len(seen), pageOf+10)
	})
}
