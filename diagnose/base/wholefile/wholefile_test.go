package wholefile_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/wholefile"
)

func TestRead(t *testing.T) {
	dir := t.TempDir()
	file := func(name string, size int64) string {
		path := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(path, nil, 0o600))
		require.NoError(t, os.Truncate(path, size)) // sparse: it takes no room
		return path
	}
	data, err := wholefile.Read(file("right", 1000), 1000)
	require.NoError(t, err)
	assert.Len(t, data, 1000)
	require.NoError(t, os.Symlink("right", filepath.Join(dir, "link")))
	_, err = wholefile.Read(filepath.Join(dir, "link"), 1000)
	require.NoError(t, err)

	large := wholefile.TooLargeError{}
	_, err = wholefile.Read(file("more", 1001), 1000)
	require.ErrorAs(t, err, &large)
	_, err = wholefile.Read(file("huge", 1<<40), wholefile.Journal)
	require.ErrorAs(t, err, &large)
	assert.Equal(t, int64(wholefile.Journal), large.Most)
	_, err = wholefile.Read(dir, 1000)
	require.ErrorIs(t, err, wholefile.ErrNotRegular)
	_, err = wholefile.Read(filepath.Join(dir, "none"), 1000)
	require.ErrorIs(t, err, os.ErrNotExist)
}
