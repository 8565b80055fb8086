package desk

import (
	"bytes"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/office/triage"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

var (
	ctx   = context.Background()
	start = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	now   = time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
)

// visitOf is the file of a visit on a day, with a reading at rest, that ended with a
// conclusion.
func visitOf(t *testing.T, day int, volts float64, c condition.ID) ledger.Source {
	t.Helper()
	at := start.AddDate(0, 0, day)
	id := fmt.Sprintf("v-%03d", day)
	var out bytes.Buffer
	w := record.NewWriter(&out)
	for _, e := range []visiting.Entry{
		{Head: &visiting.Head{ID: id, SiteName: "Dry Ridge", SiteTOML: string(site.DemoTOML()), Who: "A. Visitor", StartedAt: at}},
		{Answer: &visiting.Answer{Step: "battery_v", Kind: visiting.Took, Reading: reading.BatteryV, Typed: "12.4", Number: &[]float64{12.4}[0], At: at.Add(time.Minute)}},
		{Answer: &visiting.Answer{Step: "rest_v", Kind: visiting.Took, Reading: reading.RestV, Typed: fmt.Sprint(volts), Number: &volts, At: at.Add(time.Hour)}},
		{End: &visiting.End{At: at.Add(time.Hour)}},
		{Conclusion: &visiting.Conclusion{At: at.Add(time.Hour), Conditions: []visiting.ConditionPosterior{{ID: c, Probability: 0.95}},
			Left: []visiting.Outstanding{{Condition: c, Who: "A. Mechanic", Due: "2026-04-01"}}}},
	} {
		require.NoError(t, w.Append(e))
	}
	return ledger.Source{Name: id + record.Suffix, Open: func() (io.ReadCloser, error) { return io.NopCloser(&out), nil }}
}

// deskOf is a desk on a new ledger with the visits; its inference counts what it was
// given to know, and holds the array for open.
func deskOf(t testing.TB, sources ...ledger.Source) *Desk {
	t.Helper()
	l, err := ledger.Open(ctx, filepath.Join(t.TempDir(), "the.ledger"), func() time.Time { return now })
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, l.Close()) })
	require.NoError(t, l.HandIn(ctx, func(yield func(ledger.Source, error) bool) {
		for _, s := range sources {
			if !yield(s, nil) {
				return
			}
		}
	}, signature.Names{}, func(o ledger.Outcome) { assert.Equal(t, ledger.TakenNew, o.Fate, o.Reason) }))
	infer := func(in belief.Input) (*belief.Result, error) {
		p := 0.5 + 0.1*float64(len(in.Readings.Numbers))
		return &belief.Result{Conditions: []belief.Posterior{{ID: condition.ArrayOpen, P: p}}}, nil
	}
	return &Desk{Ledger: l, Now: func() time.Time { return now }, Infer: infer, Afresh: infer, Engine: "engine one"}
}

func signer(t *testing.T, d *Desk, name string) signature.Key {
	t.Helper()
	k, err := signature.New(rand.Reader)
	require.NoError(t, err)
	d.Names, err = signature.ParseNames("names.toml", fmt.Appendf(nil, "[[person]]\nname = %q\nkey = %q\nfrom = 2026-01-01T00:00:00Z\n", name, k.Public()))
	require.NoError(t, err)
	return k
}

// Scrolling down and up again passes every visit once, in order, and keeps no more
// than some of them.
func TestListLoadsAsItIsScrolled(t *testing.T) {
	var sources []ledger.Source
	const n = 45
	for day := range n {
		sources = append(sources, visitOf(t, day, 12.6, condition.ArrayOpen))
	}
	d := deskOf(t, sources...)
	l, err := d.List(ctx, ledger.Query{Order: ledger.Oldest, Limit: 4})
	require.NoError(t, err)
	require.Len(t, l.Rows, 4)
	assert.False(t, l.Above)
	for l.Below {
		before := l
		l, err = d.Further(ctx, l)
		require.NoError(t, err)
		assert.Equal(t, before.Rows, l.Rows[:len(before.Rows)])
	}
	require.Len(t, l.Rows, n)
	for i, r := range l.Rows {
		assert.Equal(t, fmt.Sprintf("v-%03d", i), r.Digest.ID)
	}

	end, err := d.List(ctx, ledger.Query{Order: ledger.Oldest, Limit: 4, Back: true})
	require.NoError(t, err)
	assert.Equal(t, l.Rows[n-4:], end.Rows)
	for end.Above {
		end, err = d.Before(ctx, end)
		require.NoError(t, err)
	}
	assert.Equal(t, l.Rows, end.Rows)
	assert.Equal(t, 7, end.Index("v-007"))
	assert.Equal(t, -1, end.Index("w"))
}

func TestListKeepsNoMoreThanAWindow(t *testing.T) {
	var sources []ledger.Source
	for day := range maxLoaded + 3 {
		sources = append(sources, visitOf(t, day, 12.6, condition.ArrayOpen))
	}
	d := deskOf(t, sources...)
	l, err := d.List(ctx, ledger.Query{Order: ledger.Oldest})
	require.NoError(t, err)
	for l.Below {
		l, err = d.Further(ctx, l)
		require.NoError(t, err)
	}
	require.Len(t, l.Rows, maxLoaded)
	assert.True(t, l.Above)
	assert.Equal(t, "v-003", l.Rows[0].Digest.ID)
	l, err = d.Before(ctx, l)
	require.NoError(t, err)
	assert.Equal(t, "v-000", l.Rows[0].Digest.ID)
	assert.True(t, l.Below)
}

func TestNarrow(t *testing.T) {
	d := &Desk{Now: func() time.Time { return now }}
	tests := []struct {
		typed   string
		want    ledger.Filter
		problem string
	}{
		{"site Dry Ridge", ledger.Filter{Site: "Dry Ridge"}, ""},
		{"Staff  A. B.", ledger.Filter{Staff: "A. B."}, ""},
		{"from 2026-03-02", ledger.Filter{From: time.Date(2026, 3, 2, 0, 0, 0, 0, time.UTC)}, ""},
		{"before 2 March", ledger.Filter{}, `"2 March" is not a day`},
		{"condition array-open", ledger.Filter{Condition: condition.ArrayOpen}, ""},
		{"condition array circuit is OPEN", ledger.Filter{Condition: condition.ArrayOpen}, ""},
		{"condition open", ledger.Filter{}, `"open" could be any of: `},
		{"condition rain", ledger.Filter{}, `"rain" is not a condition`},
		{"state sent back", ledger.Filter{State: review.SentBack}, ""},
		{"state lost", ledger.Filter{}, "expected under way, handed in, sent back, accepted"},
		{"attention", ledger.Filter{Attention: true}, ""},
		{"overdue", ledger.Filter{Overdue: true}, ""},
		{"differs", ledger.Filter{Differs: true}, ""},
		{"weather", ledger.Filter{}, `"weather" is not a filter; expected one of: site NAME`},
	}
	for _, tt := range tests {
		f, err := d.Narrow(ctx, ledger.Filter{}, tt.typed)
		if tt.problem != "" {
			require.ErrorContains(t, err, tt.problem)
			continue
		}
		require.NoError(t, err, tt.typed)
		assert.Equal(t, tt.want, f)
		assert.NotEqual(t, "all visits", FilterText(f))
	}
	f, err := d.Narrow(ctx, ledger.Filter{Site: "x", Attention: true}, "attention")
	require.NoError(t, err)
	assert.Equal(t, ledger.Filter{Site: "x"}, f, "typed once more it is off")
	f, err = d.Narrow(ctx, f, "none")
	require.NoError(t, err)
	assert.Equal(t, "all visits", FilterText(f))
}

// Names are typed in any case and in part; what could be several is said.
func TestNamesTypedInPart(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.6, condition.ArrayOpen))
	for _, typed := range []string{"site Dry Ridge", "site dry ridge", "site RIDGE", "site y r"} {
		f, err := d.Narrow(ctx, ledger.Filter{}, typed)
		require.NoError(t, err, typed)
		assert.Equal(t, "Dry Ridge", f.Site, typed)
	}
	f, err := d.Narrow(ctx, ledger.Filter{}, "staff visitor")
	require.NoError(t, err)
	assert.Equal(t, "A. Visitor", f.Staff)
	_, err = d.Narrow(ctx, ledger.Filter{}, "site wet")
	require.ErrorContains(t, err, `"wet" is in no name`)

	name, err := only("ridge", []string{"Dry Ridge", "Ridge", "Ridge Top"})
	require.NoError(t, err)
	assert.Equal(t, "Ridge", name, "typed whole")
	_, err = only("rid", []string{"Dry Ridge", "Ridge"})
	require.ErrorContains(t, err, "Dry Ridge; Ridge")

	f, err = d.Narrow(ctx, ledger.Filter{}, "state Sent")
	require.NoError(t, err)
	assert.Equal(t, review.SentBack, f.State)
}

// A step is walked with what the visit knew then, no more.
func TestBelievedAsItWasThen(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.6, condition.ArrayOpen))
	v, err := d.Visit(ctx, "v-000")
	require.NoError(t, err)
	require.Len(t, v.Steps, 2)
	for n, want := range []float64{0.6, 0.7} {
		r, err := d.Believed(v, n)
		require.NoError(t, err)
		assert.InDelta(t, want, r.Leader().P, 1e-9)
	}
	_, err = d.Believed(v, 2)
	require.ErrorIs(t, err, ErrNoStep)
	_, err = d.Visit(ctx, "v-001")
	require.ErrorIs(t, err, ledger.ErrNoVisit)
}

// What differs, and what is noise between two engines; worked out by hand.
func TestDiffers(t *testing.T) {
	now := func(first condition.ID, p float64, second condition.ID, q float64) *belief.Result {
		return &belief.Result{Conditions: []belief.Posterior{{ID: first, P: p}, {ID: second, P: q}}}
	}
	tests := []struct {
		name string
		then condition.ID
		p    float64
		now  *belief.Result
		want bool
	}{
		{"the same", condition.LoadJoint, 0.9, now(condition.LoadJoint, 0.85, condition.ArrayOpen, 0.1), false},
		{"much less sure", condition.LoadJoint, 0.95, now(condition.LoadJoint, 0.7, condition.ArrayOpen, 0.2), true},
		{"much surer", condition.LoadJoint, 0.5, now(condition.LoadJoint, 0.8, condition.ArrayOpen, 0.1), true},
		{"something else", condition.LoadJoint, 0.55, now(condition.ArrayOpen, 0.5, condition.LoadJoint, 0.38), true},
		{"as good as even, then and now", condition.LoadJoint, 0.46, now(condition.ArrayOpen, 0.46, condition.LoadJoint, 0.45), false},
		{"none was concluded", "", 0, now(condition.ArrayOpen, 0.9, condition.LoadJoint, 0.1), false},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, differs(ledger.Digest{Condition: tt.then, P: tt.p}, tt.now), tt.name)
	}
}

// What today's engine sees is worked out once, kept with its name and day, and a reason
// for eyes; another engine looks again, and until it has, the words say whose they are.
func TestToday(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.6, condition.ArrayOpen), visitOf(t, 1, 12.6, condition.LoadJoint))
	n, err := d.Unseen(ctx)
	require.NoError(t, err)
	assert.Equal(t, 2, n)
	r, err := d.LookAgain(ctx)
	require.NoError(t, err)
	assert.Equal(t, "v-001", r.Digest.ID, "the newest first")
	assert.True(t, r.Again.Differs)
	list, err := d.List(ctx, ledger.Query{Filter: ledger.Filter{Differs: true}})
	require.NoError(t, err)
	require.Len(t, list.Rows, 1)
	text := condition.Of(condition.ArrayOpen).Title
	assert.Contains(t, Reasons(list.Rows[0], start), "Another version of the program gives another result: "+text+" (70 %), by engine one, 2026-12-01.")

	inferred := 0
	infer := d.Afresh
	d.Afresh = func(in belief.Input) (*belief.Result, error) { inferred++; return infer(in) }
	v, err := d.Visit(ctx, "v-001")
	require.NoError(t, err)
	v, err = d.Today(ctx, v)
	require.NoError(t, err)
	assert.Zero(t, inferred, "it stands in the ledger")
	assert.Contains(t, d.AgainText(v.Row), "ANOTHER RESULT. At the end of the visit: ")
	assert.Contains(t, v.Found(), "Needs attention: Another version of the program gives another result: "+text+" (70 %), by engine one, 2026-12-01.")

	d.Engine = "engine two"
	assert.Contains(t, d.AgainText(v.Row), "Another version (engine one, 2026-12-01): "+text)
	d.Afresh = func(belief.Input) (*belief.Result, error) {
		inferred++
		return &belief.Result{Conditions: []belief.Posterior{{ID: condition.LoadJoint, P: 0.9}}}, nil
	}
	v, err = d.Today(ctx, v)
	require.NoError(t, err)
	assert.Equal(t, 1, inferred)
	assert.False(t, v.Again.Differs)
	assert.Contains(t, d.AgainText(v.Row), "This version gives the same result as the visit: ")

	d.Afresh = func(belief.Input) (*belief.Result, error) { return nil, errors.New("no state fits") }
	r, err = d.LookAgain(ctx)
	require.NoError(t, err)
	assert.Equal(t, "v-000", r.Digest.ID)
	assert.Contains(t, d.AgainText(*r), "This version could not analyse this visit: no state fits.")
	r, err = d.LookAgain(ctx)
	require.NoError(t, err)
	assert.Nil(t, r)
}

// A visit that is seen differently while the list is read stays where it is in it, and
// the pages go on behind it as before.
func TestListGoesOnBehindWhatChanged(t *testing.T) {
	var sources []ledger.Source
	for day := range 9 {
		sources = append(sources, visitOf(t, day, 12.6, condition.ArrayOpen))
	}
	d := deskOf(t, sources...)
	l, err := d.List(ctx, ledger.Query{Order: ledger.Urgent, Limit: 4})
	require.NoError(t, err)
	v, err := d.Visit(ctx, l.Rows[3].Digest.ID)
	require.NoError(t, err)
	v, err = d.Today(ctx, v)
	require.NoError(t, err)
	require.Greater(t, v.Level(start), l.Rows[3].Level(start))
	l = l.With(v.Row)
	for l.Below {
		l, err = d.Further(ctx, l)
		require.NoError(t, err)
	}
	require.Len(t, l.Rows, 9)
	for i, r := range l.Rows {
		assert.Equal(t, fmt.Sprintf("v-%03d", 8-i), r.Digest.ID)
	}
	top, err := d.List(ctx, l.Query)
	require.NoError(t, err)
	assert.Equal(t, "v-008", top.Rows[0].Digest.ID, "the last visit has an action that is overdue")
	assert.Equal(t, v.Digest.ID, top.Rows[1].Digest.ID)
}

// A trend has the earlier visits and the one on the desk, not those after it.
func TestTrends(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.8, condition.ArrayOpen), visitOf(t, 9, 12.4, condition.ArrayOpen), visitOf(t, 5, 12.6, condition.ArrayOpen))
	v, err := d.Visit(ctx, "v-005")
	require.NoError(t, err)
	list, err := d.Trends(ctx, v.Row)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, Trend{triage.RestVoltage, []Point{{"v-000", start, 12.8}, {"v-005", start.AddDate(0, 0, 5), 12.6}}}, list[0])
	assert.Contains(t, list[0].Text(), "2026-03-02 12.8, 2026-03-07 12.6; change since the first -0.2")
}

// Of two supervisors who both saw the visit as it was, the second is told of the first.
func TestSecondIsTold(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.6, condition.ArrayOpen))
	k := signer(t, d, "S. Visor")
	mine, err := d.Visit(ctx, "v-000")
	require.NoError(t, err)
	theirs := *mine
	require.NoError(t, d.Say(ctx, &theirs, k, review.SendBack, "", "Which fuse?"))
	err = d.Say(ctx, mine, k, review.Accept, "", "")
	overtaken := (*ledger.Overtaken)(nil)
	require.ErrorAs(t, err, &overtaken)
	assert.Contains(t, OvertakenText(overtaken), "S. Visor changed this visit first (")

	mine, err = d.Visit(ctx, "v-000")
	require.NoError(t, err)
	assert.Equal(t, review.SentBack, mine.State)
	require.NoError(t, d.Say(ctx, mine, k, review.Accept, "", ""))
	mine, err = d.Visit(ctx, "v-000")
	require.NoError(t, err)
	assert.Equal(t, review.Accepted, mine.State)
	assert.Equal(t, []string{"Found: " + condition.Of(condition.ArrayOpen).Title + " (95 %).",
		"To be done: " + condition.Of(condition.ArrayOpen).Title + ", by A. Mechanic, due 2026-04-01."}, mine.Reviews[1].Found)
}

func TestUnboundKeyIsRefusedAndRecorded(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.6, condition.ArrayOpen))
	signer(t, d, "S. Visor")
	k, err := signature.New(rand.Reader)
	require.NoError(t, err)
	v, err := d.Visit(ctx, "v-000")
	require.NoError(t, err)
	refused := (*ledger.Refused)(nil)
	require.ErrorAs(t, d.Say(ctx, v, k, review.Accept, "", ""), &refused)
	list, err := d.Ledger.Refusals(ctx, 5)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, k.Public().Fingerprint(), list[0].Review.Who)
}

func TestReasons(t *testing.T) {
	d := deskOf(t, visitOf(t, 0, 12.6, condition.ArrayOpen))
	l, err := d.List(ctx, ledger.Query{})
	require.NoError(t, err)
	assert.Equal(t, []string{"Overdue: an action was due 2026-04-01."}, Reasons(l.Rows[0], now))
	assert.Empty(t, Reasons(l.Rows[0], start))
}
