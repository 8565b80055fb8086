package site_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/site"
)

func TestCasesParse(t *testing.T) {
	files, err := filepath.Glob("../../../shared/cases/*/site.toml")
	require.NoError(t, err)
	if len(files) == 0 {
		t.Skip("the shared cases are not here")
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		_, err = site.Parse(file, data)
		assert.NoError(t, err)
	}
}

func TestDemo(t *testing.T) {
	s, err := site.Parse("demo.site.toml", site.DemoTOML())
	require.NoError(t, err)
	assert.Equal(t, s, site.Demo())
}
