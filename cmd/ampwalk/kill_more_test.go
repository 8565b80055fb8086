package main

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/site"
)

// killed gives a command its input and kills it once it has put out so many lines, and
// some time more: the moments lie between its writes too. One that has said all it has to
// say is killed as it waits. It gives all that was put out.
func killed(t *testing.T, c *exec.Cmd, input string, lines int, more time.Duration) string {
	t.Helper()
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	_, err = io.WriteString(in, input) // it stays open, so that the command does not end before
	require.NoError(t, err)
	said := make(chan string)
	go func() {
		defer close(said)
		for r := bufio.NewReader(out); ; {
			line, err := r.ReadString('\n')
			said <- line
			if err != nil {
				return
			}
		}
	}()
	var all strings.Builder
	for range lines {
		select {
		case line := <-said:
			all.WriteString(line)
			continue
		case <-time.After(time.Second):
		}
		break
	}
	time.Sleep(more)
	require.NoError(t, c.Process.Kill())
	for line := range said {
		all.WriteString(line)
	}
	_ = c.Wait() // it was killed
	return all.String()
}

// moment is when to kill: after one of so many lines, and up to two milliseconds more.
func moment(rng *rand.Rand, lines int) (int, time.Duration) {
	return 1 + rng.IntN(lines), time.Duration(rng.IntN(2000)) * time.Microsecond
}

// Killed at any moment, a site form has in the file what it said is saved, the file is
// whole, and what was there before is beside it.
func TestKilledSiteForm(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes for minutes")
	}
	t.Parallel()
	const answers = 20
	var input strings.Builder
	for i := range answers {
		fmt.Fprintf(&input, "go 1\nName %d\n", i+1)
	}
	rng := rand.New(rand.NewPCG(20261130, 1))
	for range effort.Of(0, 8, 60) {
		path := filepath.Join(t.TempDir(), "x"+siteSuffix)
		require.NoError(t, os.WriteFile(path, site.DemoTOML(), 0o600))
		c := command(t.TempDir())
		c.Args = []string{c.Args[0], "site", "edit", "--plain", path}
		lines, more := moment(rng, 10*answers)
		said := killed(t, c, input.String(), lines, more)
		saved := strings.Count(said, "\nSaved: ")

		text, err := os.ReadFile(path)
		require.NoError(t, err)
		d, err := siteform.Open(path, text)
		require.NoError(t, err)
		require.NotNil(t, d.Site(), "after %d lines", lines)
		kept := 0
		if d.Name() != site.Demo().Name {
			_, err = fmt.Sscanf(d.Name(), "Name %d", &kept)
			require.NoError(t, err)
		}
		require.GreaterOrEqual(t, kept, saved, "after %d lines", lines)
		if kept > 0 {
			before, err := os.ReadFile(path + ".bak")
			require.NoError(t, err)
			require.True(t, bytes.Equal(site.DemoTOML(), before))
		}
	}
}

// Killed at any moment, the results of practice are whole lines, among them all that were
// said to be saved, and the next practice adds to them.
func TestKilledPractice(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes for minutes")
	}
	t.Parallel()
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(20261130, 2))
	const standing = 6 // questions, asked before the first decision
	saved, times := 0, effort.Of(0, 8, 60)
	for range times {
		c := command(dir)
		c.Args = []string{c.Args[0], "practice", "--data", dir, "--scenario", "no-charge-since-storm", "--plain", "--who", "A. Trainee"}
		lines, more := moment(rng, 160)
		said := killed(t, c, "light\nname array-open\n"+strings.Repeat("1\n", standing)+"do 1\nsure\n", lines, more)
		if strings.Contains(said, "\nSaved: ") {
			saved++
		}
		text, err := os.ReadFile(filepath.Join(dir, practiceFile))
		if os.IsNotExist(err) {
			require.Zero(t, saved)
			continue
		}
		require.NoError(t, err)
		list, err := practicelog.Read(bytes.NewReader(text))
		require.NoError(t, err)
		require.GreaterOrEqual(t, len(list), saved)
		require.LessOrEqual(t, len(list), times)
		for _, r := range list {
			require.Equal(t, "A. Trainee", r.Who)
			require.True(t, r.Right)
		}
	}
	assert.Positive(t, saved, "some came to their end")
}

// Killed at any moment, a review has signed in the ledger what it said it signed, each
// once, and everything there verifies.
func TestKilledReview(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes for minutes")
	}
	t.Parallel()
	home := t.TempDir()
	at := func(name string) string { return filepath.Join(home, name) }
	require.NoError(t, os.WriteFile(at("pass"), []byte(passphrase), 0o600))
	code, said := ran(t, home, "key", "new", "--who", "S. Visor", "--key", at("s.key"), "--passphrase-file", at("pass"))
	require.Equal(t, exitDone, code, said)
	_, person, found := strings.Cut(said, "[[person]]")
	require.True(t, found)
	require.NoError(t, os.WriteFile(at("names.toml"), []byte("[[person]]"+person), 0o600))
	b := (&app{stdout: io.Discard, stderr: io.Discard, now: time.Now, infer: cheap}).bookIn(t.TempDir())
	v, err := b.begin(site.DemoTOML(), "A. Visitor", visiting.Full)
	require.NoError(t, err)
	require.NoError(t, v.Give(visiting.Answer{Step: "permission", Kind: visiting.Did, At: time.Now()}))
	b.close()
	code, said = ran(t, home, "hand-in", "--ledger", at("x.ledger"), b.dir)
	require.Equal(t, exitDone, code, said)

	var input strings.Builder
	input.WriteString("1\n")
	for i := range 6 {
		fmt.Fprintf(&input, "comment %d\n", i)
	}
	text, err := os.ReadFile(at("names.toml"))
	require.NoError(t, err)
	names, err := signature.ParseNames("names.toml", text)
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(20261130, 3))
	signed := 0
	for range effort.Of(0, 6, 60) {
		c := command(home)
		c.Args = []string{c.Args[0], "review", "--plain", "--ledger", at("x.ledger"), "--names", at("names.toml"), "--key", at("s.key"), "--passphrase-file", at("pass")}
		lines, more := moment(rng, 80)
		signed += strings.Count(killed(t, c, input.String(), lines, more), "\nSigned and saved: comment")

		ctx := context.Background()
		l, err := ledger.Open(ctx, at("x.ledger"), time.Now)
		require.NoError(t, err)
		kept, err := l.Visit(ctx, v.Head().ID)
		require.NoError(t, err)
		require.NoError(t, l.Close())
		require.GreaterOrEqual(t, len(kept.Reviews), signed)
		require.Empty(t, review.Verify(v.Head().ID, kept.Content.Hashes, kept.Said(), names, nil))
		signed = len(kept.Reviews) // what was signed and not yet said counts from now on
	}
	assert.Positive(t, signed)
}
