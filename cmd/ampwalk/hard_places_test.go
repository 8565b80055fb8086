//go:build unix

package main

import (
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// begunVisit is a folder with one visit under way, and its id.
func begunVisit(t *testing.T, dir string) string {
	t.Helper()
	b := (&app{stdout: io.Discard, stderr: io.Discard, now: time.Now, infer: cheap}).bookIn(dir)
	v, err := b.begin(site.DemoTOML(), "A. Visitor", visiting.Full)
	require.NoError(t, err)
	require.NoError(t, v.Give(visiting.Answer{Step: "permission", Kind: visiting.Did, At: time.Now()}))
	b.close()
	return v.Head().ID
}

// Of many programs that take up one visit, one has it; the others say why not, and harm
// nothing.
func TestManyProgramsOnOneVisit(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	id := begunVisit(t, dir)
	first := command(dir, "--resume", id)
	in, err := first.StdinPipe()
	require.NoError(t, err)
	out, err := first.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, first.Start())
	one := make([]byte, 1)
	_, err = out.Read(one) // it has the visit before it says anything of it
	require.NoError(t, err)
	for range 3 {
		c := command(dir, "--resume", id)
		c.Stdin = strings.NewReader("1\n")
		said, err := c.CombinedOutput()
		require.Error(t, err)
		assert.Contains(t, string(said), "the visit is open in another program")
	}
	_, err = io.WriteString(in, "note still mine\n")
	require.NoError(t, err)
	require.NoError(t, in.Close())
	_, err = io.ReadAll(out)
	require.NoError(t, err)
	require.NoError(t, first.Wait())
	entries, damage, err := record.Read(filepath.Join(dir, id+record.Suffix))
	require.NoError(t, err)
	require.Nil(t, damage)
	assert.Equal(t, "still mine", entries[len(entries)-1].Answer.Reason)
}

// With its streams closed a command ends as with empty ones: none of the files that it
// opens takes their place, and nothing is said into a visit.
func TestStreamsClosed(t *testing.T) {
	t.Parallel()
	for _, closed := range []string{"<&-", ">&-", "2>&-", "<&- >&- 2>&-"} {
		dir := t.TempDir()
		id := begunVisit(t, dir)
		before, err := os.ReadFile(filepath.Join(dir, id+record.Suffix))
		require.NoError(t, err)
		for _, args := range []string{"visits", "--resume " + id} {
			c := exec.Command("sh", "-c", `exec "$0" `+args+` --data "$1" `+closed, os.Args[0], dir)
			c.Env = append(os.Environ(), actAsCommand+"=1", "AMPWALK_DATA=")
			ended := make(chan error, 1)
			require.NoError(t, c.Start())
			go func() { ended <- c.Wait() }()
			select {
			case err := <-ended:
				assert.NoError(t, err, "%s %s", args, closed)
			case <-time.After(patience):
				_ = c.Process.Kill()
				require.Fail(t, "it does not end", "%s %s", args, closed)
			}
		}
		after, err := os.ReadFile(filepath.Join(dir, id+record.Suffix))
		require.NoError(t, err)
		assert.Equal(t, before, after, closed)
	}
}

// Where nothing can be written, no answer is said to be taken, and the cause is said.
func TestFolderThatCanOnlyBeRead(t *testing.T) {
	dir, _ := diskOf(t, "1m")
	id := begunVisit(t, dir)
	remount(t, dir, "ro")
	defer remount(t, dir, "rw")
	for _, args := range [][]string{{"--resume", id}, {}} {
		c := command(dir, args...)
		c.Stdin = strings.NewReader("1\n1 2\n")
		var out bytes.Buffer
		c.Stdout, c.Stderr = &out, &out
		require.Error(t, c.Run())
		assert.Contains(t, out.String(), "read-only file system")
		assert.NotContains(t, out.String(), "Taken: ")
	}
	code, said := ran(t, dir, "visits")
	assert.Equal(t, exitDone, code)
	assert.Contains(t, said, id[:len("20060102-1504")])
	code, said = ran(t, dir, "print", id)
	assert.Equal(t, exitDone, code, said)
}
