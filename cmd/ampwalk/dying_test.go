package main

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"strconv"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// A command that acts for a test can be made to die as by kill -9 once it has done so
// much work. Where that is does not depend on how quick the machine is.
const (
	atLine = "AMPWALK_TEST_DIES_AT_LINE" // with so many lines put out
	atTime = "AMPWALK_TEST_DIES_AT_TIME" // as it asks for the time so often
)

// dying runs a command that dies as at says, the n-th time.
func dying(t *testing.T, c *exec.Cmd, at string, n int) {
	t.Helper()
	c.Env = append(c.Env, fmt.Sprintf("%s=%d", at, n))
	var exit *exec.ExitError
	require.ErrorAs(t, c.Run(), &exit)
	require.False(t, exit.Exited(), "it ended by itself")
}

// mayDie makes the command die as its environment says.
func mayDie(a *app) {
	if n, err := strconv.ParseInt(os.Getenv(atLine), 10, 64); err == nil {
		a.stdout = &lastLines{a.stdout, n}
	}
	if n, err := strconv.ParseInt(os.Getenv(atTime), 10, 64); err == nil {
		var asked atomic.Int64
		a.now = func() time.Time {
			if asked.Add(1) == n {
				die()
			}
			return time.Now()
		}
	}
}

// lastLines puts out so many lines, each of which comes in one piece.
type lastLines struct {
	io.Writer
	left int64
}

func (l *lastLines) Write(b []byte) (int, error) {
	n, err := l.Writer.Write(b)
	if l.left--; l.left == 0 {
		die()
	}
	return n, err
}

func die() {
	if p, err := os.FindProcess(os.Getpid()); err == nil {
		_ = p.Kill() // it does not come back
	}
	select {}
}
