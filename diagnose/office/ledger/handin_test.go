package ledger

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
)

// A visit may come again, older or further, and other files beside it; what is in
// the ledger is the furthest, byte for byte.
func TestHandInAnyOrder(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		short, long := visitOf(t, "a-visit", "Dry Ridge", 3, false), visitOf(t, "a-visit", "Dry Ridge", 5, true)
		require.True(t, bytes.HasPrefix(long, short))
		other := visitOf(t, "a-visit", "Wet Ridge", 5, true)
		l := open(t, where)
		none := signature.Names{}
		steps := []struct {
			name string
			data []byte
			want Fate
			here []byte
		}{
			{"short" + record.Suffix, short, TakenNew, short},
			{"short again, by mail.txt", []byte("\ufeff" + strings.ReplaceAll(string(short), "\n", "\r\n")), TakenSame, short},
			{"long" + record.Suffix, long, TakenFurther, long},
			{"short, late" + record.Suffix, short, TakenOlder, long},
			{"long again" + record.Suffix, long, TakenSame, long},
			{"another story" + record.Suffix, other, SetAside, long},
			{"letter.txt", []byte("Dear supervisor"), Ignored, long},
			{"torn" + record.Suffix, long[:len(long)-5], SetAside, long},
			{"empty" + record.Suffix, nil, SetAside, long},
		}
		for _, s := range steps {
			got := handIn(t, l, none, files(s.name, s.data))
			require.Equal(t, s.want, got[s.name].Fate, "%s: %+v", s.name, got)
			assert.Equal(t, s.want == SetAside, got[s.name].Reason != "", s.name)
			assert.Equal(t, s.here, visitIn(t, l, "a-visit").Content.Bytes, s.name)
		}
		assert.Equal(t, review.HandedIn, visitIn(t, l, "a-visit").State)
		n, err := l.Count(ctx, Filter{}, 10)
		require.NoError(t, err)
		assert.Equal(t, 1, n)

		aside, err := l.Aside(ctx, AsideCursor{}, 10)
		require.NoError(t, err)
		require.Len(t, aside, 3)
		kept := map[string][]byte{}
		for _, a := range aside {
			kept[a.Name], err = l.AsideBytes(ctx, a.Hash)
			require.NoError(t, err)
		}
		assert.Equal(t, other, kept["another story"+record.Suffix])
		assert.Equal(t, long[:len(long)-5], kept["torn"+record.Suffix])
	})
}

// The same files in any order, and again, come to the same ledger.
func TestHandInIsTheSameInEveryOrder(t *testing.T) {
	people, names := persons(t, "S. Visor")
	data := visitOf(t, "a-visit", "Dry Ridge", 3, true)
	c, err := record.Parse(data)
	require.NoError(t, err)
	e, err := review.Sign("", review.Review{Visit: "a-visit", Head: c.Fingerprint(), Kind: review.SendBack, Who: "S. Visor", At: now, Text: "Why?"}, people[0].key)
	require.NoError(t, err)
	practice := []byte(`{"who":"T. Rainee","at":"2026-11-02T10:00:00Z","mode":"free","scenario":"x","level":1,"truth":["sound"],"named":["sound"],"right":true,"breaches":[]}` + "\n")
	all := []any{"r" + review.Suffix, e.Line, "1" + record.Suffix, data, "practice.jsonl", practice}
	for _, order := range [][]int{{0, 1, 2}, {2, 1, 0}, {1, 2, 0}, {0, 2, 1}} {
		each(t, func(t *testing.T, where string) {
			l := open(t, where)
			for range 2 {
				for _, i := range order {
					handIn(t, l, names, files(all[2*i], all[2*i+1]))
				}
				v := visitIn(t, l, "a-visit")
				assert.Equal(t, data, v.Content.Bytes)
				assert.Equal(t, e.Line, review.Bytes(v.Said()))
				assert.Equal(t, review.SentBack, v.State)
				aside, err := l.Aside(ctx, AsideCursor{}, 10)
				require.NoError(t, err)
				assert.Empty(t, aside, "what waited was taken in")
				trained, err := l.Practice(ctx, PracticeQuery{Limit: 10})
				require.NoError(t, err)
				require.Len(t, trained, 1)
				assert.Equal(t, "T. Rainee", trained[0].Who)
			}
		})
	}
}

// Reviews that were signed over later answers wait for these.
func TestReviewsWaitForTheirJournal(t *testing.T) {
	people, names := persons(t, "S. Visor")
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		long := visitOf(t, "a-visit", "Dry Ridge", 5, true)
		c, err := record.Parse(long)
		require.NoError(t, err)
		e, err := review.Sign("", review.Review{Visit: "a-visit", Head: c.Fingerprint(), Kind: review.Accept, Who: "S. Visor", At: now, Found: []string{"sound"}}, people[0].key)
		require.NoError(t, err)
		got := handIn(t, l, names, files("1"+record.Suffix, visitOf(t, "a-visit", "Dry Ridge", 2, false)))
		require.Equal(t, TakenNew, got["1"+record.Suffix].Fate)
		got = handIn(t, l, names, files("r"+review.Suffix, e.Line))
		require.Equal(t, SetAside, got["r"+review.Suffix].Fate)
		require.True(t, got["r"+review.Suffix].Waits)
		handIn(t, l, names, files("2"+record.Suffix, long))
		assert.Equal(t, review.Accepted, visitIn(t, l, "a-visit").State)
	})
}

// Whatever a file says its visit is called, nothing is written but in the ledger.
func TestNothingLeavesTheLedger(t *testing.T) {
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		outside := t.TempDir()
		t.Chdir(outside)
		for _, id := range []string{"../../up", "/etc/x", `..\up`, "a/b", "", "A", "x\x00y", "'; DROP TABLE visits; --"} {
			got := handIn(t, l, signature.Names{}, files("../../"+id+record.Suffix, visitOf(t, id, "Dry Ridge", 1, true)))
			for _, o := range got {
				assert.Equal(t, SetAside, o.Fate, "%q", id)
				assert.Contains(t, o.Reason, record.ErrID.Error())
			}
		}
		got := handIn(t, l, signature.Names{}, files("x"+record.Suffix, visitOf(t, "x", "a\x00b\x1b[31m'; DROP TABLE visits; --", 1, true)))
		assert.Equal(t, TakenNew, got["x"+record.Suffix].Fate)
		hostile := &visiting.Conclusion{Conditions: []visiting.ConditionPosterior{{ID: "no\x00condition' OR 1 = 1"}}, Left: []visiting.Outstanding{{Who: "\x00", Due: "2026-13-40"}}}
		got = handIn(t, l, signature.Names{}, files("y"+record.Suffix, concluded(t, head("y", "Dry Ridge"), hostile)))
		assert.Equal(t, TakenNew, got["y"+record.Suffix].Fate)
		page, err := l.List(ctx, Query{Limit: 10})
		require.NoError(t, err)
		assert.Len(t, page, 2)
		left, err := os.ReadDir(outside)
		require.NoError(t, err)
		assert.Empty(t, left)
	})
}

// What earlier visits of a site left to do is taken over by its last visit that was
// finished, in whatever order they are handed in.
func TestOpenActionsAreOfTheLastVisit(t *testing.T) {
	due := func(id string, day int, by string) []byte {
		h := head(id, "Dry Ridge")
		h.StartedAt = start.AddDate(0, 0, day)
		return concluded(t, h, &visiting.Conclusion{
			Conditions: []visiting.ConditionPosterior{{ID: condition.BatteryWorn, Probability: 0.9}}, Left: []visiting.Outstanding{{Condition: condition.BatteryWorn, Due: by}},
		})
	}
	first, second := due("a-first", 0, "2026-11-22"), due("b-second", 3, "2026-11-28")
	underWay := journal(t, func() visiting.Head {
		h := head("c-under-way", "Dry Ridge")
		h.StartedAt = start.AddDate(0, 0, 5)
		return h
	}(), 2, false)
	all := []any{"1" + record.Suffix, first, "2" + record.Suffix, second, "3" + record.Suffix, underWay}
	for _, order := range [][]int{{0, 1, 2}, {2, 1, 0}, {1, 2, 0}} {
		each(t, func(t *testing.T, where string) {
			l := open(t, where)
			for n, i := range order {
				handIn(t, l, signature.Names{}, files(all[2*i], all[2*i+1]))
				if n == 0 && i == 0 {
					page, err := l.List(ctx, Query{Filter: Filter{Overdue: true, Today: now, Condition: condition.BatteryWorn}, Limit: 10})
					require.NoError(t, err)
					assert.Equal(t, []string{"a-first"}, idsOf(page))
				}
			}
			page, err := l.List(ctx, Query{Order: DueFirst, Limit: 10})
			require.NoError(t, err)
			require.Equal(t, []string{"b-second"}, idsOf(page))
			assert.Equal(t, "2026-11-28", page[0].Due.Format(time.DateOnly))
			assert.Equal(t, condition.BatteryWorn, page[0].Digest.Condition)
		})
	}
}

// A visit that is dated in the future hides no work that others left, whenever it is
// handed in, and needs attention; the next visit takes over from it as from any other.
func TestWrongClockHidesNoWork(t *testing.T) {
	finished := func(id string, at time.Time) []byte {
		h := head(id, "Dry Ridge")
		h.StartedAt = at
		return concluded(t, h, &visiting.Conclusion{
			Conditions: []visiting.ConditionPosterior{{ID: condition.BatteryWorn, Probability: 0.9}},
			Left:       []visiting.Outstanding{{Condition: condition.BatteryWorn, Due: at.AddDate(0, 0, 2).Format(time.DateOnly)}},
		})
	}
	future, real, last := finished("a-future", start.AddDate(36, 0, 0)), finished("b-real", start), finished("c-last", start.AddDate(0, 0, 5))
	for _, order := range [][]any{{"1" + record.Suffix, future, "2" + record.Suffix, real}, {"2" + record.Suffix, real, "1" + record.Suffix, future}} {
		each(t, func(t *testing.T, where string) {
			l := open(t, where)
			overdue := func() []string {
				page, err := l.List(ctx, Query{Filter: Filter{Overdue: true, Today: now}, Order: DueFirst, Limit: 10})
				require.NoError(t, err)
				return idsOf(page)
			}
			for i := 0; i < len(order); i += 2 {
				handIn(t, l, signature.Names{}, files(order[i:i+2]...))
			}
			assert.Equal(t, []string{"b-real"}, overdue())
			assert.Positive(t, visitIn(t, l, "a-future").Digest.Level)
			assert.Zero(t, visitIn(t, l, "b-real").Digest.Level)
			handIn(t, l, signature.Names{}, files("3"+record.Suffix, last))
			assert.Equal(t, []string{"c-last"}, overdue())
			page, err := l.List(ctx, Query{Order: DueFirst, Limit: 10})
			require.NoError(t, err)
			assert.Equal(t, []string{"c-last"}, idsOf(page), "nothing else is open")

			// A ledger of an earlier program, to which the future visit was the latest.
			_, err = l.db.Exec("UPDATE sites SET latest = $1", millis(start.AddDate(36, 0, 0)))
			require.NoError(t, err)
			_, err = l.db.Exec("DELETE FROM goose_db_version WHERE version_id = 4")
			require.NoError(t, err)
			l = open(t, where)
			handIn(t, l, signature.Names{}, files("4"+record.Suffix, finished("d-after", start.AddDate(0, 0, 6))))
			assert.Equal(t, []string{"d-after"}, overdue())
		})
	}
}

// A folder is walked. A link is not followed, and one named as a visit is not passed over
// in silence.
func TestFiles(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "mail", "new"), 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mail", "new", "1.txt"), []byte("x"), 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "a"+record.Suffix), []byte("y"), 0o600))
	want := map[string]error{"stick/a" + record.Suffix: nil, "stick/mail/new/1.txt": nil}
	if runtime.GOOS != "windows" { // links need a right there
		for _, name := range []string{"link" + record.Suffix, "link" + review.Suffix, practiceName} {
			require.NoError(t, os.Symlink("/etc/passwd", filepath.Join(dir, name)))
			want["stick/"+name] = wholefile.ErrNotRegular
		}
		require.NoError(t, os.Symlink("/etc/passwd", filepath.Join(dir, "letter")))
	}
	got := map[string]error{}
	for s, err := range Files(os.DirFS(dir), ".", "stick") {
		got[s.Name] = err
	}
	assert.Equal(t, want, got)
	for _, err := range Files(os.DirFS(dir), "not-there", "stick") {
		require.ErrorIs(t, err, os.ErrNotExist)
	}
}

func TestTooLargeStaysWhereItIs(t *testing.T) {
	if testing.Short() {
		t.Skip("64 MB")
	}
	each(t, func(t *testing.T, where string) {
		l := open(t, where)
		got := handIn(t, l, signature.Names{}, files("big"+record.Suffix, make([]byte, record.MaxSize+1)))
		require.Equal(t, SetAside, got["big"+record.Suffix].Fate)
		assert.Contains(t, got["big"+record.Suffix].Reason, "too large")
	})
}
