package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSettings(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "there yet")
	s, err := readSettings(dir)
	require.NoError(t, err)
	assert.Equal(t, settings{}, s)

	require.NoError(t, settings{Sunlight: true}.write(dir))
	s, err = readSettings(dir)
	require.NoError(t, err)
	assert.True(t, s.Sunlight)
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, files, 1, "nothing else is left behind")

	require.NoError(t, os.WriteFile(filepath.Join(dir, settingsFile), []byte("sunlight = perhaps"), 0o600))
	s, err = readSettings(dir)
	assert.ErrorContains(t, err, settingsFile)
	assert.Equal(t, settings{}, s)
}
