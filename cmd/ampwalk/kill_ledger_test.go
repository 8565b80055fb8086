package main

import (
	"bytes"
	"context"
	crand "crypto/rand"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/ledger/postgrestest"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/site"
)

// stick is a folder of n visits, each with its acceptance, and the names file.
func stick(t *testing.T, n int) (dir, names string, journals map[string][]byte) {
	t.Helper()
	dir, names = t.TempDir(), filepath.Join(t.TempDir(), "names.toml")
	k, err := signature.New(crand.Reader)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(names, []byte("[[person]]\nname = \"S. Visor\"\nkey = \""+k.Public()+"\"\nfrom = 2026-01-01T00:00:00Z\n"), 0o600))
	journals = map[string][]byte{}
	start := time.Date(2026, 11, 20, 8, 0, 0, 0, time.UTC)
	for i := range n {
		id := fmt.Sprintf("visit-%04d", i)
		var out bytes.Buffer
		w := record.NewWriter(&out)
		require.NoError(t, w.Append(visiting.Entry{Head: &visiting.Head{ID: id, SiteName: fmt.Sprint("Site ", i%7), SiteTOML: string(site.DemoTOML()), Who: "A. Visitor", StartedAt: start}}))
		require.NoError(t, w.Append(visiting.Entry{End: &visiting.End{At: start}}))
		c, err := record.Parse(out.Bytes())
		require.NoError(t, err)
		e, err := review.Sign("", review.Review{Visit: id, Head: c.Fingerprint(), Kind: review.Accept, Who: "S. Visor", At: start, Found: []string{"sound"}}, k)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, id+record.Suffix), out.Bytes(), 0o600))
		require.NoError(t, os.WriteFile(filepath.Join(dir, id+review.Suffix), e.Line, 0o600))
		journals[id] = out.Bytes()
	}
	return dir, names, journals
}

// Killed at any moment, a hand-in has lost nothing that it said it took in, and done
// again it has everything, once. It dies by the work it did, so that the moments are
// the same on any machine.
func TestKilledHandInLosesNothing(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes for minutes; package ledger has hand-ins at once")
	}
	const (
		group  = 512 // the most files of one transaction
		visits = group + 88
		seed   = 20261125
	)
	times := effort.Of(0, 2, 25) // each way
	from, names, journals := stick(t, visits)
	for _, kind := range []string{"SQLite", "PostgreSQL"} {
		t.Run(kind, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(seed, 0))
			attempt := func(t *testing.T, die func(handIn *exec.Cmd, where string, out *bytes.Buffer)) {
				where := filepath.Join(t.TempDir(), "office.ledger")
				if kind == "PostgreSQL" {
					where = postgrestest.New(t) // skips all, where there is none
				}
				handIn := func() (*exec.Cmd, *bytes.Buffer) {
					var out bytes.Buffer
					c := command(t.TempDir())
					c.Args = []string{c.Args[0], "hand-in", from, "--ledger", where, "--names", names}
					c.Stdout = &out
					return c, &out
				}
				c, out := handIn()
				die(c, where, out)
				c, _ = handIn()
				require.NoError(t, c.Run())
				wholeLedger(t, where, journals)
			}
			t.Run("never", func(t *testing.T) {
				attempt(t, func(c *exec.Cmd, _ string, out *bytes.Buffer) {
					require.NoError(t, c.Run())
					require.True(t, strings.HasSuffix(out.String(), fmt.Sprintf("\n%d imported, 0 updated, 0 here already\n", 2*visits)))
				})
			})
			if kind == "SQLite" {
				t.Run("while the tables are made", func(t *testing.T) {
					attempt(t, func(c *exec.Cmd, where string, out *bytes.Buffer) {
						require.NoError(t, c.Start())
						require.Eventually(t, func() bool { _, err := os.Stat(where); return err == nil }, patience, time.Millisecond)
						require.NoError(t, c.Process.Kill())
						_ = c.Wait() // it was killed
						stillThere(t, where, out)
					})
				})
			}
			// What is said is on the disk, together with the rest of its transaction, and
			// all visits are too many for that.
			for range times {
				n := 1 + rng.IntN(visits-group)
				t.Run(fmt.Sprintf("between two transactions, after line %d", n), func(t *testing.T) {
					attempt(t, func(c *exec.Cmd, where string, out *bytes.Buffer) {
						dying(t, c, atLine, n)
						there := stillThere(t, where, out)
						require.Equal(t, n, strings.Count(out.String(), "\n"))
						require.Positive(t, there)
						require.Less(t, there, visits)
					})
				})
			}
			// Each row that is put in asks for the time.
			for range times {
				n := 1 + rng.IntN(2*visits)
				t.Run(fmt.Sprintf("in a transaction, at row %d", n), func(t *testing.T) {
					attempt(t, func(c *exec.Cmd, where string, out *bytes.Buffer) {
						dying(t, c, atTime, n)
						require.Less(t, stillThere(t, where, out), n, "the row that it died at is not there, nor any after it")
					})
				})
			}
		})
	}
}

// stillThere is how many visits the ledger has, among them all that a hand-in said
// it took in.
func stillThere(t *testing.T, where string, out *bytes.Buffer) (n int) {
	t.Helper()
	said := map[string]bool{}
	for line := range strings.Lines(out.String()) {
		if id, ok := strings.CutSuffix(strings.TrimSuffix(line, "\n"), ": imported"); ok {
			said[id] = true
		}
	}
	ctx := context.Background()
	l, err := ledger.Open(ctx, where, time.Now)
	require.NoError(t, err)
	for r, err := range l.Rows(ctx, ledger.Filter{}, ledger.Oldest) {
		require.NoError(t, err)
		delete(said, r.Digest.ID)
		n++
	}
	require.Empty(t, said, "said to be imported, and lost")
	require.NoError(t, l.Close())
	return n
}

// wholeLedger has every visit once, byte for byte, and accepted.
func wholeLedger(t *testing.T, where string, journals map[string][]byte) {
	t.Helper()
	ctx := context.Background()
	l, err := ledger.Open(ctx, where, time.Now)
	require.NoError(t, err)
	seen := map[string]int{}
	for r, err := range l.Rows(ctx, ledger.Filter{State: review.Accepted}, ledger.Newest) {
		require.NoError(t, err)
		seen[r.Digest.ID]++
		v, err := l.Visit(ctx, r.Digest.ID)
		require.NoError(t, err)
		require.Equal(t, journals[r.Digest.ID], v.Content.Bytes)
	}
	require.Len(t, seen, len(journals))
	for id, n := range seen {
		require.Equal(t, 1, n, id)
	}
	aside, err := l.Aside(ctx, ledger.AsideCursor{}, 1)
	require.NoError(t, err)
	require.Empty(t, aside)
	require.NoError(t, l.Close())
}
