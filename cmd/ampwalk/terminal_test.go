package main

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"ampwalk/diagnose/base/effort"

	"github.com/stretchr/testify/require"
)

// patience is how long a test waits for what must come, on the slowest machine.
const patience = 2 * time.Minute

// A terminal is a real one: a window of a tmux server of its own, in which the
// program runs.
type terminal struct {
	t      *testing.T
	server string
}

// stays runs a program and stays after its end, which it tells. A window whose last
// process ends is closed at once, and tmux may not have read by then what was written
// last. It notes the program's id in its first argument.
const stays = `trap : INT
sh -c 'echo $$ > "$0" && exec "$@"' "$@"
echo "[ended: $?]"
exec cat > /dev/null
`

var endTold = regexp.MustCompile(`\[ended: (\d+)\]`)

const terminalOptions = `
set-option -g history-limit 5000
set-option -s escape-time 0
`

func needTmux(t *testing.T) {
	t.Helper()
	if _, err := exec.LookPath("tmux"); err == nil {
		return
	}
	if effort.All() {
		require.Fail(t, "tmux is not installed")
	}
	t.Skip("tmux is not installed; it is the terminal of this test")
}

// openTerminal runs a command in a window of w columns and h rows, in folder
// dir, with the variables added to its environment.
func openTerminal(t *testing.T, w, h int, dir string, env []string, command ...string) *terminal {
	t.Helper()
	term := newTerminal(t)
	script := term.file("stays")
	require.NoError(t, os.WriteFile(script, []byte(stays), 0o600))
	term.open(w, h, dir, env, append([]string{"sh", script, term.idFile()}, command...)...)
	return term
}

// newTerminal is a terminal without a window.
func newTerminal(t *testing.T) *terminal {
	t.Helper()
	server, err := os.MkdirTemp("", "amp") // a socket's path must be short
	require.NoError(t, err)
	term := &terminal{t, filepath.Join(server, "s")}
	require.NoError(t, os.WriteFile(term.file("conf"), []byte(terminalOptions), 0o600))
	t.Cleanup(func() {
		_, _ = term.command("kill-server")
		_ = os.RemoveAll(server)
	})
	return term
}

// open runs a command as the leader of its window.
func (term *terminal) open(w, h int, dir string, env []string, command ...string) {
	term.t.Helper()
	args := []string{"-f", term.file("conf"), "new-session", "-d", "-x", strconv.Itoa(w), "-y", strconv.Itoa(h), "-c", dir, "env", "XDG_CACHE_HOME=" + term.file("")}
	term.tmux(append(append(args, env...), command...)...)
}

// file is one of the terminal's own.
func (term *terminal) file(name string) string { return filepath.Join(filepath.Dir(term.server), name) }

// tmux gives a command to the terminal's server.
func (term *terminal) tmux(args ...string) string {
	term.t.Helper()
	out, err := term.command(args...)
	require.NoError(term.t, err, "tmux %q: %s", args, out)
	return out
}

// command is tmux, where it may also fail. One that does not come to its end is
// killed: a test that hangs would take all others with it.
func (term *terminal) command(args ...string) (string, error) {
	ctx, cancel := context.WithTimeout(context.Background(), patience)
	defer cancel()
	c := exec.CommandContext(ctx, "tmux", append([]string{"-S", term.server}, args...)...)
	c.WaitDelay = 10 * time.Second // what a busy machine needs to read what was said
	// A user's terminal, whatever runs the tests: NO_COLOR, CI and the like
	// change what the program draws.
	c.Env = []string{"PATH=" + os.Getenv("PATH"), "HOME=" + os.Getenv("HOME"), "LC_ALL=C.UTF-8", "SHELL=/bin/sh"}
	out, err := c.CombinedOutput()
	if ctx.Err() != nil {
		err = fmt.Errorf("no end within %s: %w", patience, err)
	}
	return string(out), err
}

// keys presses keys by their tmux names.
func (term *terminal) keys(names ...string) {
	term.t.Helper()
	term.tmux(append([]string{"send-keys"}, names...)...)
}

// enter types text and then Enter.
func (term *terminal) enter(text string) {
	term.t.Helper()
	term.tmux("send-keys", "-l", "--", text)
	term.keys("Enter")
}

// screen is what the window shows.
func (term *terminal) screen() string {
	term.t.Helper()
	return term.tmux("capture-pane", "-p")
}

// everything is what the window shows and what has scrolled out of it.
func (term *terminal) everything() string {
	term.t.Helper()
	return term.tmux("capture-pane", "-p", "-S", "-")
}

// colours is the screen with its escape codes.
func (term *terminal) colours() string {
	term.t.Helper()
	return term.tmux("capture-pane", "-p", "-e")
}

// wait looks at the screen until it is as wished.
func (term *terminal) wait(what string, wished func(screen string) bool) string {
	term.t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		s := term.screen()
		if wished(s) {
			return s
		}
		if time.Now().After(end) {
			require.Fail(term.t, "waited for "+what, s)
		}
	}
}

// waitFor waits until the screen has all the texts.
func (term *terminal) waitFor(texts ...string) string {
	term.t.Helper()
	return term.wait(fmt.Sprintf("%q", texts), func(s string) bool {
		for _, text := range texts {
			if !strings.Contains(s, text) {
				return false
			}
		}
		return true
	})
}

// silent waits until the terminal does not show what is typed: a secret that came
// between the question and this would stand on the screen.
func (term *terminal) silent() {
	term.t.Helper()
	tty := term.value("pane_tty")
	term.wait("a silent terminal", func(string) bool {
		modes, err := exec.Command("sh", "-c", `stty -a < "$0"`, tty).Output()
		require.NoError(term.t, err)
		return slices.Contains(strings.FieldsFunc(string(modes), func(r rune) bool { return r == ' ' || r == ';' || r == '\n' }), "-echo")
	})
}

// resize makes the window w columns and h rows.
func (term *terminal) resize(w, h int) {
	term.t.Helper()
	term.tmux("resize-window", "-x", strconv.Itoa(w), "-y", strconv.Itoa(h))
}

// process is the program in the window.
func (term *terminal) process() *os.Process {
	term.t.Helper()
	text, err := os.ReadFile(term.idFile())
	require.NoError(term.t, err)
	return term.processOf(strings.TrimSpace(string(text)))
}

func (term *terminal) processOf(id string) *os.Process {
	term.t.Helper()
	pid, err := strconv.Atoi(id)
	require.NoError(term.t, err)
	p, err := os.FindProcess(pid)
	require.NoError(term.t, err)
	return p
}

func (term *terminal) idFile() string { return term.file("pid") }

// exit waits for the end of the program in the window, and is its exit code.
func (term *terminal) exit() string {
	term.t.Helper()
	return endTold.FindStringSubmatch(term.wait("the end of the program", endTold.MatchString))[1]
}

// leader is the process that leads the window.
func (term *terminal) leader() *os.Process {
	term.t.Helper()
	return term.processOf(term.value("pane_pid"))
}

// gone waits until the leader of the window has ended, and the window with it. tmux 3.3a
// misses the end of a child now and then; it notes it when another one ends.
func (term *terminal) gone() {
	term.t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(20 * time.Millisecond) {
		if _, err := term.command("run-shell", "-b", "true"); err != nil {
			return
		}
		require.True(term.t, time.Now().Before(end), "waited for the end of the program")
	}
}

// value is a variable of the window as tmux knows it.
func (term *terminal) value(name string) string {
	term.t.Helper()
	return strings.TrimSpace(term.tmux("display-message", "-p", "#{"+name+"}"))
}
