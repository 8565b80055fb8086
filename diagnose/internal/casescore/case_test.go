package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"
)

// Cases in one file are the same as those in folders.
func TestLoadFromOneFile(t *testing.T) {
	const folders = "../../../testdata/cases"
	want, err := load(folders, "007")
	require.NoError(t, err)
	require.Len(t, want, 1)

	a := &txtar.Archive{}
	for _, id := range []string{"007", "008"} {
		for _, name := range []string{"site.toml", "readings.toml", "truth.json"} {
			data, err := os.ReadFile(filepath.Join(folders, id, name))
			require.NoError(t, err)
			a.Files = append(a.Files, txtar.File{Name: id + "/" + name, Data: data})
		}
	}
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, archiveName), txtar.Format(a), 0o644))
	got, err := load(dir, "007")
	require.NoError(t, err)
	assert.Equal(t, want, got)
	both, err := load(dir, "")
	require.NoError(t, err)
	assert.Len(t, both, 2)
}

func TestLoadOfNothing(t *testing.T) {
	for _, folder := range []string{t.TempDir(), "../../../testdata/cases"} {
		_, err := load(folder, "no such case")
		assert.ErrorContains(t, err, folder)
	}
}
