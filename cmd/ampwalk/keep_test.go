package main

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestKeeperNeverLosesWhatItDidNotWrite(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "hill.site.toml")
	text := func(name string) string {
		data, err := os.ReadFile(name)
		if err != nil {
			return err.Error()
		}
		return string(data)
	}
	require.NoError(t, os.WriteFile(path, []byte("by hand"), 0o640))
	require.NoError(t, os.WriteFile(path+".bak", []byte("older"), 0o600))
	var k keeper
	require.NoError(t, k.keep(path, []byte("one")))
	require.NoError(t, k.keep(path, []byte("two")))
	assert.Equal(t, "two", text(path))
	assert.Equal(t, "by hand", text(path+".bak.2"), "a backup of what was there first")
	assert.Equal(t, "older", text(path+".bak"), "and none is written over")
	assert.NoFileExists(t, path+".bak.3", "what it wrote itself needs none")
	if runtime.GOOS != "windows" {
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Equal(t, fs.FileMode(0o640), info.Mode().Perm())
	}

	require.NoError(t, os.WriteFile(path, []byte("by an editor meanwhile"), 0o640))
	require.NoError(t, k.keep(path, []byte("three")))
	assert.Equal(t, "by an editor meanwhile", text(path+".bak.3"))
	require.NoError(t, k.keep(path, []byte("three")), "nothing to do")

	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, list, 4, "nothing half written is left")

	require.Error(t, k.keep(filepath.Join(dir, "missing", "x.site.toml"), []byte("x")))
	if runtime.GOOS == "windows" {
		return // links need rights there
	}
	link := filepath.Join(t.TempDir(), "link.site.toml")
	require.NoError(t, os.Symlink(path, link))
	require.NoError(t, k.keep(link, []byte("four")))
	assert.Equal(t, "four", text(path))
	info, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, info.Mode()&fs.ModeSymlink, "the link stays one")
}

// What a killed program left half written is taken away by the next one that writes there,
// but not what may still be being written, and nothing that is not the program's.
func TestKeeperTidies(t *testing.T) {
	dir := t.TempDir()
	old := time.Now().Add(-2 * time.Hour)
	for name, at := range map[string]time.Time{".ampwalk-1": old, ".ampwalk-2": time.Now(), "notes": old, ".ampwalk": old} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), nil, 0o600))
		require.NoError(t, os.Chtimes(filepath.Join(dir, name), at, at))
	}
	require.NoError(t, new(keeper).keep(filepath.Join(dir, "x.site.toml"), []byte("x")))
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	var names []string
	for _, f := range list {
		names = append(names, f.Name())
	}
	assert.Equal(t, []string{".ampwalk", ".ampwalk-2", "notes", "x.site.toml"}, names)
}

// A shell reads the path back as it is.
func TestQuoted(t *testing.T) {
	for _, path := range []string{"/data/visits", "a b", "$HOME", "`id`", `"`, "'", `\`, "*", "|", "~", "a;b", "(x)", "é/電", "", "#", "!x", "a\nb"} {
		out, err := exec.Command("sh", "-c", "printf %s "+quoted(path, "linux")).Output()
		if err != nil && runtime.GOOS == "windows" {
			t.Skip("no POSIX shell here")
		}
		require.NoError(t, err)
		assert.Equal(t, path, string(out))
	}
	assert.Equal(t, "/data/visits", quoted("/data/visits", "linux"))
	assert.Equal(t, `C:\data`, quoted(`C:\data`, "windows"))
	assert.Equal(t, `"C:\my data"`, quoted(`C:\my data`, "windows"))
}

func TestNewSitePath(t *testing.T) {
	t.Chdir(t.TempDir())
	assert.Equal(t, "dry-ridge-no-2.site.toml", newSitePath("Dry Ridge, No. 2"))
	assert.Equal(t, "école.site.toml", newSitePath("../École/"))
	assert.Equal(t, "site.site.toml", newSitePath("..."))
	require.NoError(t, os.WriteFile("x.site.toml", nil, 0o600))
	require.NoError(t, os.WriteFile("x-2.site.toml", nil, 0o600))
	assert.Equal(t, "x-3.site.toml", newSitePath("X"))
	assert.LessOrEqual(t, len(newSitePath(string(make([]rune, 500))+"abc")), 100)
}
