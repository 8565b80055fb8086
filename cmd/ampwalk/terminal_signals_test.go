//go:build unix

package main

import (
	"errors"
	"os"
	"os/exec"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
)

// atLight is a visit on the screens at the question of the light, 81 typed and not yet
// given, and where it is kept.
func atLight(t *testing.T, command ...string) (*terminal, string) {
	t.Helper()
	data := t.TempDir()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(data), append(command, os.Args[0])...)
	toLight(term)
	term.tmux("send-keys", "-l", "81")
	term.waitFor("> 81_")
	return term, data
}

func assertKept(t *testing.T, data string) {
	t.Helper()
	items, err := record.List(data)
	require.NoError(t, err)
	require.Len(t, items, 1)
	assert.Equal(t, answersToLight, items[0].Answers)
	j, _, _, err := record.Open(data, items[0].ID)
	require.NoError(t, err, "nobody holds the visit")
	require.NoError(t, j.Close())
}

// modes are the settings of the terminal.
func (term *terminal) modes() string {
	term.t.Helper()
	out, err := exec.Command("sh", "-c", `stty -a < "$0"`, term.value("pane_tty")).Output()
	require.NoError(term.t, err)
	return string(out)
}

// Told to end from outside, the program gives the terminal back, says how to go on, and
// ends with the code for that.
func TestTerminalToldToEnd(t *testing.T) {
	needTmux(t)
	for _, s := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP, syscall.SIGINT} {
		t.Run(s.String(), func(t *testing.T) {
			t.Parallel()
			term, data := atLight(t)
			assert.Contains(t, term.modes(), "-icanon")
			require.NoError(t, term.process().Signal(s))
			assert.Equal(t, "130", term.exit())
			assert.NotContains(t, term.modes(), "-icanon")
			assert.NotContains(t, term.modes(), "-echo ")
			term.waitFor("--resume")
			assertKept(t, data)
		})
	}
}

// Stopped from outside, the terminal is somebody else's for a while. The program takes it
// again and shows everything anew.
func TestTerminalStoppedFromOutside(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term, _ := atLight(t)
	require.NoError(t, term.process().Signal(syscall.SIGSTOP))
	out, err := exec.Command("sh", "-c", `stty sane < "$0"; printf '\033[?1049l\033[2Ja shell was here' > "$0"`, term.value("pane_tty")).CombinedOutput()
	require.NoError(t, err, "%s", out)
	term.waitFor("a shell was here")
	require.NoError(t, term.process().Signal(syscall.SIGCONT))
	term.waitFor("\nLight on the array\n", "> 81_")
	assert.Contains(t, term.modes(), "-icanon")
	term.enter("0")
	term.waitFor("Light on the array: 810 W/m2")
	require.NoError(t, term.process().Signal(syscall.SIGTERM))
	term.exit()
	assert.NotContains(t, term.modes(), "-icanon", "as it was before the program, not before it went on")
}

// A terminal that is gone ends the program, also one that was told to overlook that, as by
// nohup: it would hold the visit for ever.
func TestTerminalGone(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term, data := atLight(t, "sh", "-c", `trap '' HUP; exec "$0"`)
	p := term.process()
	_, _ = term.command("kill-server")
	for end := time.Now().Add(patience); !errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone); time.Sleep(20 * time.Millisecond) {
		require.True(t, time.Now().Before(end), "waited for the end of the program")
	}
	assertKept(t, data)
}

// However often the window changes, what is typed stays and the last size is the one that
// is drawn for.
func TestTerminalResizeStorm(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term, data := atLight(t)
	for i := range 100 {
		term.resize(20+(i*37)%180, 5+(i*11)%50)
	}
	term.resize(80, 24)
	term.waitFor("\nLight on the array\n", "> 81_")
	term.enter("0")
	term.waitFor("Light on the array: 810 W/m2")
	require.NoError(t, term.process().Signal(syscall.SIGTERM))
	term.exit()
	items, err := record.List(data)
	require.NoError(t, err)
	assert.Equal(t, answersToLight+1, items[0].Answers)
}

// Of a terminal whose kind nobody tells, nothing is known: not what draws a frame, either.
func TestTerminalOfNoKind(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), "env", "-u", "TERM", os.Args[0])
	term.waitFor("Your answer")
	assert.NotContains(t, term.screen(), "─")
}
