package ledger

import (
	"bytes"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"iter"
	"os"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger/postgrestest"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/site"
)

var (
	ctx   = context.Background()
	start = time.Date(2026, 11, 20, 10, 30, 0, 0, time.UTC)
	now   = time.Date(2026, 12, 1, 8, 0, 0, 0, time.UTC)
)

func clock() time.Time { return now }

// place is where a new ledger can be made, in a database of the kind: a file, or an
// address whose tables are the test's own.
func place(t *testing.T, kind string) string {
	t.Helper()
	if kind == "SQLite" {
		folder := "a folder?#%"
		if runtime.GOOS == "windows" { // no name may have a question mark there
			folder = "a folder#%"
		}
		return filepath.Join(t.TempDir(), folder, "the.ledger")
	}
	return postgrestest.New(t)
}

// each runs a test on both databases.
func each(t *testing.T, test func(t *testing.T, where string)) {
	for _, kind := range []string{"SQLite", "PostgreSQL"} {
		t.Run(kind, func(t *testing.T) {
			where := place(t, kind)
			if kind == "SQLite" {
				require.NoError(t, os.Mkdir(filepath.Dir(where), 0o700))
			}
			test(t, where)
		})
	}
}

func open(t *testing.T, where string) *Ledger {
	t.Helper()
	l, err := Open(ctx, where, clock)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, l.Close()) })
	return l
}

// visitOf is the journal of a visit with some answers, ended or not.
func visitOf(t *testing.T, id, site string, answers int, ended bool) []byte {
	t.Helper()
	return journal(t, head(id, site), answers, ended)
}

func head(id, name string) visiting.Head {
	return visiting.Head{ID: id, SiteName: name, SiteTOML: string(site.DemoTOML()), Who: "A. Visitor", StartedAt: start}
}

func journal(t *testing.T, h visiting.Head, answers int, ended bool) []byte {
	t.Helper()
	var out bytes.Buffer
	w := record.NewWriter(&out)
	require.NoError(t, w.Append(visiting.Entry{Head: &h}))
	for n := range answers {
		volts := 12 + float64(n)/10
		a := visiting.Answer{Step: "battery_v", Kind: visiting.Took, Reading: "battery_v", Typed: fmt.Sprint(volts), Number: &volts, At: h.StartedAt.Add(time.Duration(n+1) * time.Minute)}
		require.NoError(t, w.Append(visiting.Entry{Answer: &a}))
	}
	if ended {
		require.NoError(t, w.Append(visiting.Entry{End: &visiting.End{At: h.StartedAt.Add(time.Hour)}}))
	}
	return out.Bytes()
}

// files are sources of names and texts, in the order given.
func files(pairs ...any) iter.Seq2[Source, error] {
	return func(yield func(Source, error) bool) {
		for i := 0; i < len(pairs); i += 2 {
			text := pairs[i+1].([]byte)
			s := Source{pairs[i].(string), func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(text)), nil }}
			if !yield(s, nil) {
				return
			}
		}
	}
}

// handIn hands in and gives the outcomes by name of file.
func handIn(t *testing.T, l *Ledger, names signature.Names, sources iter.Seq2[Source, error]) map[string]Outcome {
	t.Helper()
	all := map[string]Outcome{}
	require.NoError(t, l.HandIn(ctx, sources, names, func(o Outcome) { all[o.Name] = o }))
	return all
}

// A person is somebody with a key that a names file binds to the name.
type person struct {
	name string
	key  signature.Key
}

func persons(t *testing.T, list ...string) ([]person, signature.Names) {
	t.Helper()
	var people []person
	text := ""
	for _, name := range list {
		k, err := signature.New(rand.Reader)
		require.NoError(t, err)
		people = append(people, person{name, k})
		text += fmt.Sprintf("[[person]]\nname = %q\nkey = %q\nfrom = 2026-01-01T00:00:00Z\n", name, k.Public())
	}
	names, err := signature.ParseNames("names.toml", []byte(text))
	require.NoError(t, err)
	return people, names
}

// says is what a person says of a visit as it is in the ledger.
func (p person) says(t *testing.T, v Visit, kind review.Kind, text string) review.Entry {
	t.Helper()
	r := review.Review{Visit: v.Digest.ID, Head: v.Head, Kind: kind, Who: p.name, At: now, Text: text}
	if kind == review.Accept {
		r.Found, r.Text = []string{text}, ""
	}
	e, err := review.Sign(v.LastReview, r, p.key)
	require.NoError(t, err)
	return e
}

func visitIn(t *testing.T, l *Ledger, id string) Visit {
	t.Helper()
	v, err := l.Visit(ctx, id)
	require.NoError(t, err)
	return v
}

// nextLines are the lines of answers that come after a visit of [visitOf] that had
// ended.
func nextLines(t *testing.T, id string, answers, more int) []byte {
	t.Helper()
	var out bytes.Buffer
	w := record.NewWriter(&out)
	before, err := record.Parse(visitOf(t, id, "Dry Ridge", answers, true))
	require.NoError(t, err)
	for _, e := range before.Entries {
		require.NoError(t, w.Append(e))
	}
	out.Reset()
	for n := range more {
		a := visiting.Answer{Step: "battery_v", Kind: visiting.Took, Typed: "12", At: start.Add(time.Duration(120+n) * time.Minute)}
		require.NoError(t, w.Append(visiting.Entry{Answer: &a}))
	}
	return out.Bytes()
}

// concluded is the journal of a short visit that ended with a conclusion.
func concluded(t *testing.T, h visiting.Head, c *visiting.Conclusion) []byte {
	t.Helper()
	var out bytes.Buffer
	w := record.NewWriter(&out)
	c.At = h.StartedAt.Add(time.Hour)
	for _, e := range []visiting.Entry{{Head: &h}, {End: &visiting.End{At: c.At}}, {Conclusion: c}} {
		require.NoError(t, w.Append(e))
	}
	return out.Bytes()
}
