package main

import (
	"bytes"
	"errors"
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

// ran is what a command says, its results and its messages, in a data folder.
func ran(t *testing.T, dir string, args ...string) (code int, said string) {
	t.Helper()
	var out bytes.Buffer
	a := &app{stdin: strings.NewReader(""), stdout: &out, stderr: &out, getenv: func(key string) string {
		return map[string]string{"AMPWALK_DATA": dir}[key]
	}, now: time.Now, infer: cheap}
	return a.run(args), out.String()
}

// A fullOutput takes nothing.
type fullOutput struct{}

func (fullOutput) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

// Results that nobody can read are no success.
func TestResultsNotPrintedFail(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "good"+siteSuffix)
	require.NoError(t, os.WriteFile(file, site.DemoTOML(), 0o600))
	for _, c := range []string{"site check " + file, "hand-in --ledger " + dir + "/l " + dir, "version", "visits", "practice list", "practice results"} {
		var problem bytes.Buffer
		a := &app{stdin: strings.NewReader(""), stdout: fullOutput{}, stderr: &problem, getenv: func(key string) string { return map[string]string{"AMPWALK_DATA": dir}[key] }, now: time.Now, infer: cheap}
		assert.Equal(t, exitFailed, a.run(strings.Fields(c)), c)
		assert.Equal(t, 1, strings.Count(problem.String(), "no space left"), c)
	}
}

// finishedVisit is the file of a visit in a folder of its own.
func finishedVisit(t *testing.T) string {
	t.Helper()
	b := (&app{stdout: fullOutput{}, stderr: fullOutput{}, now: time.Now, infer: cheap}).bookIn(t.TempDir())
	v, err := b.begin(site.DemoTOML(), "A. Visitor", visiting.Full)
	require.NoError(t, err)
	for range 100 {
		require.NoError(t, v.Give(visiting.Answer{Kind: visiting.Note, Reason: strings.Repeat("x", 1000), At: time.Now()}))
	}
	b.close()
	return filepath.Join(b.dir, v.Head().ID+record.Suffix)
}

// On a full disk nothing half written is left, the cause is said once, and the exit code
// is not that of bad input.
func TestNoRoomToWrite(t *testing.T) {
	visit := finishedVisit(t)
	dir, fill := smallDisk(t)
	free := fill()
	before, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, args := range [][]string{
		{"import", "--data", dir, visit}, {"export", "--out", filepath.Join(dir, "x"+record.Suffix), visit},
		{"print", "--out", filepath.Join(dir, "x.txt"), visit}, {"hand-in", "--ledger", filepath.Join(dir, "x.ledger"), visit},
	} {
		code, said := ran(t, t.TempDir(), args...)
		assert.Equal(t, exitFailed, code, "%v: %s", args, said)
		assert.Equal(t, 1, strings.Count(said, "no space left")+strings.Count(said, "the disk is full"), "%v: %s", args, said)
		assert.NotContains(t, said, "invalid argument")
		_ = os.Remove(filepath.Join(dir, "x.ledger"))
		after, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Equal(t, len(before), len(after), "%v leaves %v", args, after)
	}
	free()
	code, said := ran(t, t.TempDir(), "import", "--data", dir, visit)
	assert.Equal(t, exitDone, code, said)
}

// A ledger on a medium that can only be read, as in a backup, can be read by every command
// that changes nothing; the others say why not.
func TestLedgerThatCanOnlyBeRead(t *testing.T) {
	visit := finishedVisit(t)
	id := strings.TrimSuffix(filepath.Base(visit), record.Suffix)
	dir, _ := diskOf(t, "8m")
	where := filepath.Join(dir, "x.ledger")
	code, said := ran(t, t.TempDir(), "hand-in", "--ledger", where, visit)
	require.Equal(t, exitDone, code, said)
	remount(t, dir, "ro")
	defer remount(t, dir, "rw")
	for _, args := range [][]string{{"report", "--format", "csv"}, {"export", id, "--out", filepath.Join(t.TempDir(), "y"+record.Suffix)}} {
		code, said := ran(t, t.TempDir(), append(args, "--ledger", where)...)
		assert.Equal(t, exitDone, code, said)
		assert.Contains(t, said, map[string]string{"report": id, "export": "y" + record.Suffix}[args[0]])
	}
	_, said = ran(t, t.TempDir(), "verify", id, "--ledger", where)
	assert.Contains(t, said, "NOT VERIFIED")
	for _, args := range [][]string{{"hand-in", visit}, {"review", "--plain"}} {
		code, said := ran(t, t.TempDir(), append(args, "--ledger", where)...)
		assert.Equal(t, exitFailed, code, said)
		assert.Contains(t, said, "can only be read")
		assert.Contains(t, said, where)
	}
}

func remount(t *testing.T, dir, how string) {
	t.Helper()
	out, err := exec.Command("mount", "-o", "remount,"+how, dir).CombinedOutput()
	require.NoError(t, err, "%s", out)
}
