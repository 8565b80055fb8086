package tui

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

const deskPassphrase = "only for tests"

// atTheDesk is the desk on a ledger of n visits of a site whose name would act on a
// terminal, the last one on top.
func atTheDesk(t testing.TB, n int) (*driver, *DeskWork) {
	t.Helper()
	ctx := context.Background()
	now := time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
	l, err := ledger.Open(ctx, filepath.Join(t.TempDir(), "the.ledger"), func() time.Time { return now })
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, l.Close()) })
	k, err := signature.New(rand.Reader)
	require.NoError(t, err)
	names, err := signature.ParseNames("names.toml", fmt.Appendf(nil, "[[person]]\nname = \"S. Visor\"\nkey = %q\nfrom = 2026-01-01T00:00:00Z\n", k.Public()))
	require.NoError(t, err)
	require.NoError(t, l.HandIn(ctx, func(yield func(ledger.Source, error) bool) {
		for i := range n {
			text := deskVisit(t, i)
			yield(ledger.Source{Name: "x", Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(text)), nil }}, nil)
		}
	}, names, func(o ledger.Outcome) { assert.Equal(t, ledger.TakenNew, o.Fate, o.Reason) }))
	w := &DeskWork{
		Desk:    &desk.Desk{Ledger: l, Names: names, Infer: setBelief, Afresh: setBelief, Engine: "today's", Now: func() time.Time { return now }},
		Context: ctx,
		OpenKey: func(passphrase []byte) (signature.Key, error) {
			if string(passphrase) != deskPassphrase {
				return signature.Key{}, signature.ErrPassphrase
			}
			return k, nil
		},
	}
	s := newDesk(w)
	d := drive(s, options())
	d.run(s.load(s.list.Query)) // today's engine looks at nothing by itself here
	return d, w
}

// deskVisit is the journal of a visit on day i that ended.
func deskVisit(t testing.TB, i int) []byte {
	t.Helper()
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC).AddDate(0, 0, i)
	var out bytes.Buffer
	w := record.NewWriter(&out)
	volts := 12.8 - float64(i)/1000
	for _, e := range []visiting.Entry{
		{Head: &visiting.Head{ID: fmt.Sprintf("v-%04d", i), SiteName: "Dry\x1b[2J Ridge", SiteTOML: string(site.DemoTOML()), Who: "A. \x1b]0;x\aVisitor", StartedAt: at}},
		{Answer: &visiting.Answer{Step: "rest_v", Kind: visiting.Took, Reading: reading.RestV, Typed: "12\x1b[2J", Number: &volts, At: at.Add(time.Minute)}},
		{End: &visiting.End{At: at.Add(time.Hour)}},
		{Conclusion: &visiting.Conclusion{At: at.Add(time.Hour), Conditions: []visiting.ConditionPosterior{{ID: condition.LoadJoint, Probability: 0.5}}}},
	} {
		require.NoError(t, w.Append(e))
	}
	return out.Bytes()
}

func deskVisitOn(t *testing.T, d *driver) deskVisitScreen {
	t.Helper()
	s, ok := d.m.screen.(deskVisitScreen)
	require.True(t, ok, "%T", d.m.screen)
	return s
}

func TestDeskListIsLoadedAsItIsScrolled(t *testing.T) {
	const n = desk.PageRows*2 + 7
	d, _ := atTheDesk(t, n)
	s := func() deskScreen { return d.m.screen.(deskScreen) }
	assert.Len(t, s().list.Rows, desk.PageRows)
	for range n + 5 {
		d.press("down")
	}
	require.Len(t, s().list.Rows, n)
	assert.Equal(t, "v-0000", s().list.Rows[s().at].Digest.ID, "the newest first, of those of equal weight")
	d.press("home")
	assert.Equal(t, 0, s().at)
	assert.Equal(t, fmt.Sprintf("v-%04d", n-1), s().list.Rows[0].Digest.ID)
	d.press("end")
	assert.Equal(t, "v-0000", s().list.Rows[s().at].Digest.ID)
	for range n + 5 {
		d.press("up")
	}
	assert.Equal(t, fmt.Sprintf("v-%04d", n-1), s().list.Rows[s().at].Digest.ID)
	d.press("home", "right", "right")
	assert.Equal(t, ledger.Oldest, s().list.Query.Order)
	assert.Equal(t, "v-0000", s().list.Rows[0].Digest.ID)
}

func TestDeskFilter(t *testing.T) {
	d, _ := atTheDesk(t, 3)
	d.press("f2", "state lost", "enter")
	assert.Contains(t, d.m.View(), "is not a state; expected under way")
	d.press("esc", "f2", "before 2026-03-03", "enter")
	assert.Contains(t, d.m.View(), "Visits: before 2026-03-03")
	assert.Len(t, d.m.screen.(deskScreen).list.Rows, 1)
	d.press("f2", "none", "enter")
	assert.Len(t, d.m.screen.(deskScreen).list.Rows, 3)
	d.press("f2", "open lost", "enter")
	assert.Contains(t, d.m.View(), ledger.ErrNoVisit.Error())
	d.press("f2", "open v-0001", "enter")
	assert.Equal(t, "v-0001", deskVisitOn(t, d).v.Digest.ID)
}

// Results of practice are those of the person whose visits are listed.
func TestDeskResultsOfOne(t *testing.T) {
	d := screens["desk-results"]()
	assert.Contains(t, d.m.View(), "T. Rainee")
	d.press("esc", "f2", "staff U. Rainee", "enter", "f3")
	assert.Contains(t, d.m.View(), "U. Rainee")
	assert.NotContains(t, d.m.View(), "T. Rainee;")
}

// The names there are can be chosen while one is typed, and do nothing to the terminal.
func TestDeskOffersNames(t *testing.T) {
	d, _ := atTheDesk(t, 2)
	d.press("f2", "sit")
	assert.Contains(t, d.m.View(), "One of: site NAME")
	d.press("e D")
	assert.Contains(t, d.m.View(), "Down takes the first of these: Dry")
	d.press("down")
	assert.Contains(t, d.m.View(), "> site Dry")
	d.press("backspace", "backspace", "x")
	assert.NotContains(t, d.m.View(), "Down takes")
	d.press("esc", "f2", "staff ")
	assert.Contains(t, d.m.View(), "these: A. ")
	assert.NotContains(t, d.m.View(), "\x1b")
}

// A comment on a step, a question, and an acceptance, the passphrase asked for once
// and never drawn.
func TestDeskSigns(t *testing.T) {
	d, w := atTheDesk(t, 2)
	d.press("enter", "down", "f3", "Which meter?", "enter", "wrong", "enter")
	assert.Contains(t, d.m.View(), signature.ErrPassphrase.Error())
	d.press("enter", deskPassphrase)
	assert.NotContains(t, d.m.View(), deskPassphrase)
	d.press("enter")
	assert.Contains(t, d.m.View(), "Comment: S. Visor")
	require.Len(t, deskVisitOn(t, d).v.Steps[0].Said, 1)
	d.press("f5", "enter")
	assert.Contains(t, d.m.View(), "nothing is typed")
	d.press("Which fuse?", "enter")
	assert.Equal(t, review.SentBack, deskVisitOn(t, d).v.State)
	d.press("f9")
	assert.Contains(t, d.m.View(), "This is what you accept, and sign:")
	d.press("esc")
	assert.Equal(t, review.SentBack, deskVisitOn(t, d).v.State)
	d.press("f9", "enter")
	assert.Equal(t, review.Accepted, deskVisitOn(t, d).v.State)
	v, err := w.Desk.Visit(w.Context, "v-0001")
	require.NoError(t, err)
	assert.Equal(t, review.Accepted, v.State)
	d.press("esc")
	assert.Contains(t, d.m.View(), "accepted", "the list knows")
}

// Another supervisor decides while the acceptance stands on the screen.
func TestDeskIsOvertaken(t *testing.T) {
	d, w := atTheDesk(t, 1)
	d.press("enter", "f9")
	k, err := w.OpenKey([]byte(deskPassphrase))
	require.NoError(t, err)
	v, err := w.Desk.Visit(w.Context, "v-0000")
	require.NoError(t, err)
	require.NoError(t, w.Desk.Say(w.Context, v, k, review.SendBack, "", "Which fuse?"))
	d.press("enter", deskPassphrase, "enter")
	assert.Contains(t, d.m.View(), "S. Visor changed this visit first")
	assert.Equal(t, review.SentBack, deskVisitOn(t, d).v.State)
}

// Today's engine looks at what waits while the list stands there and while a visit
// stands over it; how many it has yet to look at is told, and each that it sees
// differently is marked where it stands.
func TestDeskLooksAgain(t *testing.T) {
	const n = 3
	d, w := atTheDesk(t, n)
	d.press("down")
	d.hold = true
	d.run(w.look(0))
	look := func(left int) {
		t.Helper()
		require.Len(t, d.held, 1)
		cmd := d.held[0]
		d.held = nil
		d.send(cmd())
		if list, ok := d.m.screen.(deskScreen); ok {
			assert.Equal(t, left, list.unseen)
		}
	}
	look(2)
	assert.Contains(t, d.m.View(), "-- This version of the program has not analysed 2 undecided visits -")
	list := d.m.screen.(deskScreen).list
	assert.True(t, list.Rows[0].Again.Differs)
	assert.False(t, list.Rows[1].Again.Differs)
	look(1)
	assert.Contains(t, d.m.View(), "- Another version of the program gives another result: ")

	v, err := w.Desk.Visit(w.Context, "v-0001")
	require.NoError(t, err)
	d.send(deskVisitMsg{visit: v})
	look(0)
	look(0)
	assert.Empty(t, d.held, "none is left")
	d.press("esc")
	assert.NotContains(t, d.m.View(), "has yet to look")

	// Rows that were read before the engine looked may come after what it saw.
	w.Desk.Engine = "this afternoon's"
	list2 := newDesk(w)
	rows := list2.load(list2.list.Query)()
	next, _ := list2.update(d.m.env(), w.look(0)())
	next, _ = next.update(d.m.env(), rows)
	assert.Equal(t, "this afternoon's", next.(deskScreen).list.Rows[0].Again.Engine)

	w.Desk.Engine = "tomorrow's"
	d.press("home") // it looks whether there is anything new
	require.Len(t, d.held, 1)
	assert.True(t, d.m.screen.(deskScreen).looking)
}

// What matters of each screen of the desk is visible in every window, and nothing of a
// visit acts on the terminal.
func TestDeskFrames(t *testing.T) {
	for _, tt := range []struct {
		press []string
		shown []string
	}{
		{nil, []string{"Dry Ridge", "The readings do not show the cause"}},
		{[]string{"f2", "x"}, []string{"> x_", "One of: site NAME"}},
		{[]string{"f3"}, []string{"Results of practice", "None."}},
		{[]string{"enter"}, []string{"Found: ", "ANOTHER RESULT", "Nobody has commented on this visit yet."}},
		{[]string{"enter", "down"}, []string{"Step 1 of 1", "Diagnosis at that time", " 61 %"}},
		{[]string{"enter", "f4"}, []string{"2026-03-02 12.8"}},
		{[]string{"enter", "f3", "x"}, []string{"> x_", "Enter signs it"}},
		{[]string{"enter", "f9"}, []string{"Found: ", "Enter signs it"}},
		{[]string{"enter", "f9", "enter"}, []string{"Passphrase of your key (it is not shown):"}},
		{[]string{"enter", "?"}, []string{"accept it with your signature"}},
	} {
		d, _ := atTheDesk(t, 3)
		d.press(tt.press...)
		for _, size := range [][2]int{{60, 20}, {80, 24}, {140, 45}} {
			d.size(size[0], size[1])
			frame := d.m.View()
			for _, text := range tt.shown {
				assert.Contains(t, frame, text, "%v at %v", tt.press, size)
			}
			assert.NotContains(t, frame, "\x1b", tt.press)
			assert.NotContains(t, frame, "\a", tt.press)
		}
	}
}

// The trend is drawn: its line goes down as the battery's rest voltage does.
func TestDeskTrendIsDrawn(t *testing.T) {
	d, _ := atTheDesk(t, 30)
	d.press("enter", "f4")
	s, ok := d.m.screen.(trendsScreen)
	require.True(t, ok)
	e := d.m.env()
	e.signs = ASCII
	require.Len(t, s.list, 1)
	assert.Len(t, s.list[0].Points, 30)
	chart := trendChart(e, s.list[0], 76)
	row := func(column int) int { // of the mark in a column
		for y, l := range chart[:trendH-2] {
			if column < len(l) && l[column] == '*' {
				return y
			}
		}
		return -1
	}
	left, right := row(20), row(70)
	require.GreaterOrEqual(t, left, 0, "%s", joined(chart))
	assert.Greater(t, right, left, "%s", joined(chart))
}

// A key in the list, with the frame after it and the pages it loads, of few visits and
// of many.
func BenchmarkDeskKey(b *testing.B) {
	for _, n := range []int{10, 10_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			d, _ := atTheDesk(b, n)
			for b.Loop() {
				d.press("down")
				if s := d.m.screen.(deskScreen); s.at == len(s.list.Rows)-1 {
					d.press("home")
				}
				_ = d.m.View()
			}
		})
	}
}
