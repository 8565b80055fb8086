package reading_test

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// The shared cases are files from outside the project: every one parses, comes
// back from Format unchanged, and only readings that its maker spoilt on
// purpose are doubted.
func TestSharedCases(t *testing.T) {
	folders, err := filepath.Glob("../../../shared/cases/*/site.toml")
	require.NoError(t, err)
	if len(folders) == 0 {
		t.Skip("the shared cases are not here")
	}
	doubted := 0
	for _, file := range folders {
		s := parseSite(t, file)
		file = filepath.Join(filepath.Dir(file), "readings.toml")
		set, err := reading.Parse(file, read(t, file), s)
		require.NoError(t, err)

		again, err := reading.Parse("again", reading.Format(set), s)
		require.NoError(t, err)
		assert.Equal(t, set, again)

		var truth struct{ Suspect []reading.Key }
		require.NoError(t, json.Unmarshal(read(t, filepath.Join(filepath.Dir(file), "truth.json")), &truth))
		assert.Subset(t, truth.Suspect, slices.Collect(maps.Keys(set.Doubted)), file)
		doubted += len(set.Doubted)
	}
	assert.Positive(t, doubted)
}

func read(t *testing.T, file string) []byte {
	t.Helper()
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	return data
}

func parseSite(t *testing.T, file string) *site.Site {
	t.Helper()
	s, err := site.Parse(file, read(t, file))
	require.NoError(t, err)
	return s
}
