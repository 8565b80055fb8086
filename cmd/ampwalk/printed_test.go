package main

import (
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/record"
)

// keptVisit copies the journal of a whole visit into dir and gives its id.
func keptVisit(t *testing.T, dir string) string {
	t.Helper()
	const kept = "../../diagnose/field/record/testdata/whole.visit.jsonl"
	entries, damage, err := record.Read(kept)
	require.NoError(t, err)
	require.Nil(t, damage)
	data, err := os.ReadFile(kept)
	require.NoError(t, err)
	id := entries[0].Head.ID
	require.NoError(t, os.WriteFile(filepath.Join(dir, id+record.Suffix), data, 0o600))
	return id
}

// Printed from the last screen: new files each time, nothing written over, and
// the journal may be open for writing meanwhile.
func TestPrintedFromTheScreen(t *testing.T) {
	dir := t.TempDir()
	id := keptVisit(t, dir)
	j, _, _, err := record.Open(dir, id)
	require.NoError(t, err)
	defer j.Close()
	t.Chdir(t.TempDir())
	a := &app{stdout: io.Discard, stderr: io.Discard, getenv: func(string) string { return "" }, now: time.Now, infer: cheap}
	b := a.bookIn(dir)
	first, err := b.printed(id)
	require.NoError(t, err)
	assert.Equal(t, []string{id + ".pdf", id + "-caretaker.pdf"}, first)
	second, err := b.printed(id)
	require.NoError(t, err)
	assert.Equal(t, []string{id + "-2.pdf", id + "-caretaker-2.pdf"}, second)
	for _, path := range append(first, second...) {
		data, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, "%PDF-", string(data[:5]))
	}
	_, err = b.printed("nowhere")
	assert.ErrorIs(t, err, os.ErrNotExist)
}

func TestUsualPaper(t *testing.T) {
	for _, tt := range []struct {
		name, set string
		want      document.Paper
	}{
		{"nothing said", "", document.A4},
		{"letter", "letter", document.Letter},
		{"a size that is not made here", "legal", document.A4},
	} {
		t.Run(tt.name, func(t *testing.T) {
			a := &app{getenv: func(string) string { return tt.set }}
			assert.Equal(t, tt.want, a.usualPaper())
		})
	}
}
