package main

import (
	"bufio"
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

// smallDisk is a folder on a disk of its own that has room for little, and the way to
// fill it up.
func smallDisk(t *testing.T) (dir string, fill func() (free func())) {
	t.Helper()
	return diskOf(t, "256k")
}

// diskOf is a folder on a disk of its own, of that size.
func diskOf(t *testing.T, size string) (dir string, fill func() (free func())) {
	t.Helper()
	dir = t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size="+size, "tmpfs", dir).CombinedOutput(); err != nil {
		t.Skipf("no small disk can be made here: %v: %s", err, out)
	}
	t.Cleanup(func() {
		out, err := exec.Command("umount", dir).CombinedOutput()
		assert.NoError(t, err, "%s", out)
	})
	return dir, func() func() {
		file := filepath.Join(dir, "filler")
		f, err := os.Create(file)
		require.NoError(t, err)
		for err == nil {
			_, err = f.Write(make([]byte, 512))
		}
		require.NoError(t, f.Close())
		return func() { require.NoError(t, os.Remove(file)) }
	}
}

// Line by line, a disk that is full is a problem that can be mended: the answer waits. If
// the visit is broken off all the same, it says what is not put back and how to go on.
func TestFullDiskLineByLine(t *testing.T) {
	dir, fill := smallDisk(t)
	b := (&app{stdout: io.Discard, stderr: io.Discard, now: time.Now, infer: cheap}).bookIn(dir)
	v, err := b.begin(site.DemoTOML(), "A. Visitor", visiting.Full)
	require.NoError(t, err)
	require.NoError(t, v.Give(visiting.Answer{Step: "array-isolate", Kind: visiting.Did, Word: "done", At: time.Now()}))
	b.close()

	c := command(dir, "--resume", v.Head().ID)
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	var problem bytes.Buffer
	c.Stderr = &problem
	require.NoError(t, c.Start())
	said := bufio.NewReader(out)
	hear := func(text string) (all string) {
		for !strings.Contains(strings.Join(strings.Fields(all), " "), text) {
			line, err := said.ReadString('\n')
			require.NoError(t, err, all)
			all += line
		}
		return all
	}
	say := func(line string) {
		_, err := io.WriteString(in, line+"\n")
		require.NoError(t, err)
	}
	hear("Your answer")
	free := fill()
	long := "note " + strings.Repeat("x", 8<<10) // more than the rest of a block
	say(long)
	hear("Problem: the answer could not be saved")
	hear("free some room on it.")
	free()
	say("")
	hear("Noted.")

	fill()
	say(long)
	hear("free some room on it.")
	require.NoError(t, in.Close())
	_, err = io.ReadAll(said)
	require.NoError(t, err)
	var exit *exec.ExitError
	require.ErrorAs(t, c.Wait(), &exit)
	assert.Equal(t, exitFailed, exit.ExitCode())
	assert.Contains(t, problem.String(), "--resume "+v.Head().ID)
	assert.Contains(t, problem.String(), "not put back yet: the array is isolated")
	entries, damage, err := record.Read(filepath.Join(dir, v.Head().ID+record.Suffix))
	require.NoError(t, err)
	assert.Nil(t, damage)
	var kept []int // lengths of what was said
	for _, e := range entries[1:] {
		if len(e.Answer.Reason) > 1000 {
			kept = append(kept, len(e.Answer.Reason))
		}
	}
	assert.Equal(t, []int{8 << 10}, kept, "the note that was taken, once, and not the other")
}
