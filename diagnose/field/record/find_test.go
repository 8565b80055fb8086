package record

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A visit is meant by its id, by the beginning of it, or as the last one.
func TestFind(t *testing.T) {
	dir := t.TempDir()
	for _, id := range []string{"20261119-0900-mill-lane-abc", "20261120-1030-lantern-hill-abc", "20261120-1030-lantern-hill-abd"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, id+Suffix), nil, 0o600))
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "20271120-1030-x.txt"), nil, 0o600))
	for typed, id := range map[string]string{
		"last": "20261120-1030-lantern-hill-abd", "20261119": "20261119-0900-mill-lane-abc",
		"20261120-1030-lantern-hill-abc": "20261120-1030-lantern-hill-abc",
		"20270101":                       "20270101", "../x": "../x", "": "",
	} {
		got, err := Find(dir, typed)
		require.NoError(t, err, typed)
		assert.Equal(t, id, got, typed)
	}
	_, err := Find(dir, "20261120")
	require.ErrorIs(t, err, ErrSeveral)
	assert.ErrorContains(t, err, "20261120-1030-lantern-hill-abc, 20261120-1030-lantern-hill-abd")
	got, err := Find(filepath.Join(dir, "none"), Last)
	require.NoError(t, err)
	assert.Equal(t, Last, got)
}
