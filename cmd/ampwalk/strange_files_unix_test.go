//go:build unix

package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/physics/site"
)

// strange makes files of every kind that is no file for the program, each with that
// suffix, and gives their names.
func strange(t *testing.T, dir, suffix string) (names []string) {
	t.Helper()
	at := func(name string) string {
		names = append(names, filepath.Join(dir, name+suffix))
		return names[len(names)-1]
	}
	require.NoError(t, unix.Mkfifo(at("pipe"), 0o600))
	require.NoError(t, os.WriteFile(at("huge"), nil, 0o600))
	require.NoError(t, os.Truncate(names[1], 1<<30)) // sparse: it takes no room
	require.NoError(t, os.Symlink("/dev/zero", at("zeros")))
	require.NoError(t, os.Symlink("nowhere", at("dangling")))
	require.NoError(t, os.Mkdir(at("folder"), 0o700))
	return names
}

// No file of the folder is waited for, and none is read further than its kind may be.
func TestStartDoesNotWaitForFiles(t *testing.T) {
	here, dir := t.TempDir(), t.TempDir()
	t.Chdir(here)
	names := strange(t, here, siteSuffix)
	var keys strings.Builder
	for i := range 40_000 {
		fmt.Fprintf(&keys, "k%d=1\n", i)
	}
	require.NoError(t, os.WriteFile("keys"+siteSuffix, []byte(keys.String()[:wholefile.Form]), 0o600))
	require.NoError(t, os.WriteFile("good"+siteSuffix, site.DemoTOML(), 0o600))
	strange(t, dir, record.Suffix)
	b := (&app{stdout: os.Stdout, stderr: os.Stderr, now: time.Now, infer: cheap}).bookIn(dir)

	problems := map[string]error{}
	for _, f := range b.sites() {
		problems[f.Path] = f.Problem
	}
	assert.NoError(t, problems["good"+siteSuffix])
	assert.ErrorContains(t, problems["keys"+siteSuffix], "more than 10000")
	for _, name := range names {
		assert.Error(t, problems[filepath.Base(name)], name)
	}
	assert.Empty(t, b.unfinished())

	code, said := ran(t, dir, "visits")
	assert.Equal(t, exitDone, code)
	assert.Contains(t, said, "pipe: cannot be read: it is not a regular file")
	assert.Contains(t, said, "huge: cannot be read: it is larger than 64 MB")
	assert.Contains(t, said, "dangling: cannot be read: no such file")
	assert.NotContains(t, said, "0001-01-01")
}

// Each command that reads a file refuses what is none, and says so of each.
func TestEveryReaderIsBounded(t *testing.T) {
	dir := t.TempDir()
	good := filepath.Join(dir, "good.toml")
	require.NoError(t, os.WriteFile(good, site.DemoTOML(), 0o600))
	for suffix, commands := range map[string][]string{
		siteSuffix: {"site check FILE", "--site FILE", "interpret --site FILE --readings x", "begin --site FILE", "site edit --plain FILE"},
		".toml": {"interpret --site " + good + " --readings FILE", "--instruments FILE --site " + good, "scenario check FILE", "practice --scenario FILE",
			"verify x --names FILE", "hand-in " + dir + "/none --names FILE", "key check --key FILE", "key check --passphrase-file FILE"},
		record.Suffix: {"print FILE", "export FILE", "import FILE", "verify FILE", "--resume FILE"},
		review.Suffix: {"import FILE", "verify x --reviews FILE"},
	} {
		for _, file := range strange(t, t.TempDir(), suffix) {
			for _, c := range commands {
				if strings.Contains(c, "passphrase") && strings.Contains(file, "pipe") {
					continue // a passphrase may come through a pipe
				}
				code, said := ran(t, t.TempDir(), strings.Fields(strings.ReplaceAll(c, "FILE", file))...)
				assert.Contains(t, []int{exitFailed, exitUsage}, code, c, file)
				assert.NotEmpty(t, said, c, file)
			}
		}
	}
}

// A name may hold what commands a terminal, and whoever types a star has not read it.
func TestFileNamesCommandNoTerminal(t *testing.T) {
	name := filepath.Join(t.TempDir(), "\x1b]52;c;eA==\x07\x1b[31m\u202ered")
	for _, suffix := range []string{"", siteSuffix, record.Suffix, review.Suffix, ".toml"} {
		file := name + suffix
		for _, content := range []string{"none", "not a file of ours", ""} {
			if content != "none" {
				require.NoError(t, os.WriteFile(file, []byte(content), 0o600))
			}
			for _, c := range []string{
				"print FILE", "export FILE", "import FILE", "verify FILE", "verify FILE --ledger FILE", "verify x --reviews FILE", "hand-in FILE", "hand-in --ledger FILE FILE",
				"site check FILE", "site edit --plain FILE", "--site FILE", "--resume FILE", "interpret --site FILE --readings FILE", "scenario check FILE",
				"practice --scenario FILE", "report --ledger FILE", "review --ledger FILE", "key check --key FILE", "verify x --names FILE", "FILE", "--FILE", "visits --data FILE",
				"report --format FILE", "print x --lang FILE",
			} {
				args := strings.Fields(c)
				for i, a := range args {
					args[i] = strings.ReplaceAll(a, "FILE", file)
				}
				_, said := ran(t, t.TempDir(), args...)
				for _, r := range said {
					require.True(t, r == '\n' || r == '\t' || unicode.IsPrint(r), "%s: %q", c, said)
				}
			}
			_ = os.RemoveAll(file)
		}
	}
}
