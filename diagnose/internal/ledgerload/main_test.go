package main

import (
	"bytes"
	"context"
	"io"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/scenarios"
)

// A programme of some hundred visits is taken in whole, filled up without a double,
// made the same again, and each of its visits is one that can be resumed.
func TestProgramme(t *testing.T) {
	if testing.Short() {
		t.Skip("it takes some inferences")
	}
	list, err := courses(scenarios.Embedded()[:2])
	require.NoError(t, err)
	require.Len(t, list, 6)
	p, err := newProgramme(300, 7, until, list)
	require.NoError(t, err)
	again, err := newProgramme(300, 7, until, list)
	require.NoError(t, err)

	ctx, where := context.Background(), filepath.Join(t.TempDir(), "the.ledger")
	var out, progress bytes.Buffer
	for range 2 {
		require.NoError(t, p.fill(ctx, where, &out, &progress))
	}
	require.NoError(t, p.fromFiles(ctx, where, 20, &out))
	assert.Contains(t, out.String(), "SQLite: hand-in of 20 files of ")

	l, err := ledger.Open(ctx, where, time.Now)
	require.NoError(t, err)
	n, err := l.Count(ctx, ledger.Filter{}, 1000)
	require.NoError(t, err)
	assert.Equal(t, 320, n)
	states := map[review.State]int{}
	for r, err := range l.Rows(ctx, ledger.Filter{}, ledger.Oldest) {
		require.NoError(t, err)
		states[r.State]++
		v, err := l.Visit(ctx, r.Digest.ID)
		require.NoError(t, err)
		assert.Empty(t, review.Verify(r.Digest.ID, v.Content.Hashes, v.Said(), p.names, nil))
		if states[r.State] < 5 {
			_, err = visiting.Resume(v.Content.Entries, nil)
			require.NoError(t, err)
		}
	}
	for _, s := range review.States {
		assert.NotZero(t, states[s], "%v", s)
	}
	require.NoError(t, l.Close())

	for i := range 300 {
		a, err := p.visit(i)
		require.NoError(t, err)
		b, err := again.visit(i)
		require.NoError(t, err)
		require.Equal(t, a, b)
		c, err := record.Parse(a)
		require.NoError(t, err)
		require.NoError(t, c.Damage)
	}
	require.NoError(t, options{visits: 300, seed: 7}.measureIn(ctx, where, &out))
	assert.Contains(t, out.String(), "opening a visit")
}

func TestArguments(t *testing.T) {
	assert.Equal(t, 2, run(nil, io.Discard, io.Discard))
	assert.Equal(t, 2, run([]string{"-speed", "x"}, io.Discard, io.Discard))
	assert.Equal(t, 1, run([]string{"-measure", filepath.Join(t.TempDir(), "no", "such", "folder", "x")}, io.Discard, io.Discard))
}
