package main

import (
	"os"
	"path/filepath"
	"testing"

	"ampwalk/tui"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSettings(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "not", "there yet")
	s, err := readSettings(dir)
	require.NoError(t, err)
	assert.Equal(t, settings{}, s)

	require.NoError(t, settings{Theme: tui.Light}.write(dir))
	s, err = readSettings(dir)
	require.NoError(t, err)
	none := func(string) string { return "" }
	assert.Equal(t, tui.Light, s.theme(none))
	assert.Equal(t, tui.Dark, settings{}.theme(none))
	assert.Equal(t, tui.Light, settings{}.theme(func(string) string { return "0;15" }), "COLORFGBG")
	files, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, files, 1, "nothing else is left behind")

	require.NoError(t, os.WriteFile(filepath.Join(dir, settingsFile), []byte("sunlight = true"), 0o600))
	s, err = readSettings(dir)
	require.NoError(t, err)
	assert.Equal(t, tui.Sunlight, s.theme(none), "as it was kept before there were three")

	require.NoError(t, os.WriteFile(filepath.Join(dir, settingsFile), []byte("sunlight = perhaps"), 0o600))
	s, err = readSettings(dir)
	assert.ErrorContains(t, err, settingsFile)
	assert.Equal(t, settings{}, s)
}
