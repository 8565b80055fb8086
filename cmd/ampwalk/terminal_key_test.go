package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A passphrase is asked for twice and never shown. Two that differ, and one that is too
// short, are asked for again, and
// whoever breaks off has a terminal that shows again what is typed.
func TestPassphraseInATerminal(t *testing.T) {
	needTmux(t)
	program, err := exec.LookPath("ampwalk") // this binary, see TestMain
	require.NoError(t, err)
	dir := t.TempDir()
	term := openTerminal(t, 80, 24, dir, []string{"PS1=ready>", "AMPWALK=" + program}, "sh")
	file := filepath.Join(dir, "mine.key")
	term.waitFor("ready>")

	make := "$AMPWALK key new --who 'S. Visor' --key mine.key; echo code $?"
	term.enter(make)
	term.waitFor("Passphrase for the new key")
	term.silent()
	term.enter("first secret")
	term.waitFor("The same again:")
	term.silent()
	term.enter("second secret")
	term.waitFor("the two passphrases are not the same")
	assert.NoFileExists(t, file)
	again := func(times int) {
		term.wait("the question again", func(s string) bool { return strings.Count(s, "Passphrase for the new key") == times })
		term.silent()
	}
	again(2) // and never the shell, which would show what is typed
	term.enter("short")
	again(3)
	term.keys("C-c")
	term.waitFor("code 130")
	term.enter("echo shown again")
	term.waitFor("ready>echo shown again")
	assert.NoFileExists(t, file)

	term.enter("clear")
	term.wait("an empty screen", func(s string) bool { return strings.TrimSpace(s) == "ready>" })
	term.enter(make)
	term.waitFor("Passphrase for the new key")
	term.silent()
	term.enter("first secret")
	term.waitFor("The same again:")
	term.silent()
	term.enter("first secret")
	term.waitFor("Written: mine.key", "[[person]]", "code 0")
	info, err := os.Stat(file)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())

	term.enter("clear")
	term.wait("an empty screen", func(s string) bool { return strings.TrimSpace(s) == "ready>" })
	term.enter("$AMPWALK key check --key mine.key; echo code $?")
	term.waitFor("Passphrase:")
	term.silent()
	term.enter("first secret")
	term.waitFor("The passphrase opens the key SHA256:", "code 0")
	assert.NotContains(t, term.everything(), "secret")
}
