package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

func demo(*testing.T) []byte { return site.DemoTOML() }

type nowhere struct{}

func (nowhere) Append(visiting.Entry) error { return nil }

// wholeVisit is what to type to come from the first step of the demo site's
// visit to its end, every reading taken.
func wholeVisit(t *testing.T) []string {
	t.Helper()
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: time.Unix(0, 0)}, nowhere{})
	require.NoError(t, err)
	var typed []string
	for range 200 {
		r, err := cheap(v.Input())
		require.NoError(t, err)
		v.Learn(v.Seq(), r)
		p := v.Prompt()
		if p.Done {
			return typed
		}
		text := goodAnswer(p)
		a, err := v.Read(p, text)
		require.NoError(t, err, "%s %q", p.Step.ID, text)
		a.At = time.Unix(1, 0)
		require.NoError(t, v.Give(a))
		typed = append(typed, text)
	}
	require.Fail(t, "the visit does not end")
	return nil
}

// goodAnswer is an answer that goes on.
func goodAnswer(p visiting.Prompt) string {
	switch {
	case p.Step.Kind != procedure.Take:
		return goodWord(p.Step, "all")
	case p.Spec.Form == reading.Word:
		return "1"
	case p.Spec.Key == reading.Gravity:
		return strings.Repeat("1.25 ", 6)
	}
	return map[string]string{"V": "12.6", "A": "0", "W/m2": "500", "C": "25", "min": "60"}[p.Spec.Unit]
}

// goodWord is what to type to a step that takes no reading, so that the visit
// goes on: all its checks, its first choice, the loads as given.
func goodWord(s procedure.Step, loads string) string {
	switch {
	case s.Kind == procedure.Say: // nobody is named
		return ""
	case len(s.Checks) > 0:
		return "1 2 3 4 5 6"[:2*len(s.Checks)-1]
	case s.ID == "loads-on":
		return loads
	case s.Kind == procedure.Choose: // nothing bad was seen
		return "none"
	case len(s.Choices) > 0:
		return "1"
	default:
		return "done"
	}
}

// command is the program as a process of its own (see TestMain), with the
// visits in dir.
func command(dir string, args ...string) *exec.Cmd {
	c := exec.Command(os.Args[0], append([]string{"--data", dir}, args...)...)
	c.Env = append(os.Environ(), actAsCommand+"=1", "AMPWALK_DATA=")
	return c
}

// Killed at any moment, a visit goes on with every answer that was confirmed,
// to the same end as one that was never killed.
func TestKilledVisitLosesNothingConfirmed(t *testing.T) {
	if testing.Short() {
		t.Skip("kills processes for minutes")
	}
	typed := wholeVisit(t)
	input := strings.Join(typed, "\n") + "\n"

	whole := command(t.TempDir())
	whole.Stdin = strings.NewReader(input)
	all, err := whole.Output()
	require.NoError(t, err)
	require.Equal(t, len(typed), bytes.Count(all, []byte("\nTaken: ")))
	require.Contains(t, string(all), "VISIT SUMMARY")
	var begun []int // bytes put out when each step is asked
	for _, at := range regexp.MustCompile("\nStep: ").FindAllIndex(all, -1) {
		begun = append(begun, at[1])
	}
	require.Len(t, begun, len(typed))

	const seed = 20261124
	times := effort.Of(0, 8, 300)
	rng := rand.New(rand.NewPCG(seed, 0))
	for range times {
		dir := t.TempDir()
		given := 1 + rng.IntN(len(typed)-1) // so it cannot come to its end before it is killed
		after := begun[0] + rng.IntN(begun[given]-begun[0])
		confirmed := killAfter(t, dir, typed[:given], after)

		items, err := record.List(dir)
		require.NoError(t, err)
		require.Len(t, items, 1)
		kept := items[0].Answers
		require.GreaterOrEqual(t, kept, confirmed, "killed after %d bytes", after)
		require.LessOrEqual(t, kept, given)

		on := command(dir, "--resume", items[0].ID)
		on.Stdin = strings.NewReader(strings.Join(typed[kept:], "\n") + "\n")
		out, err := on.Output()
		require.NoError(t, err)
		require.Contains(t, string(out), "VISIT SUMMARY", "killed after %d bytes", after)

		entries, damage, err := record.Read(filepath.Join(dir, items[0].ID+record.Suffix))
		require.NoError(t, err)
		require.Nil(t, damage)
		var got []string
		for _, e := range entries {
			if e.Answer != nil {
				got = append(got, e.Answer.Typed)
			}
		}
		want := make([]string, len(typed))
		for i, s := range typed {
			want[i] = strings.TrimSpace(s)
		}
		require.Equal(t, want, got)
	}
}

// killAfter starts a visit with some answers at hand, after which it waits for more,
// kills it once it has put out n bytes, and counts the answers it confirmed until it
// was dead.
func killAfter(t *testing.T, dir string, typed []string, n int) int {
	t.Helper()
	c := command(dir)
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, c.Start())
	_, err = io.WriteString(in, strings.Join(typed, "\n")+"\n")
	require.NoError(t, err)
	head := make([]byte, n)
	read, err := io.ReadFull(out, head)
	require.NoError(t, err)
	require.NoError(t, c.Process.Kill())
	rest, _ := io.ReadAll(out)
	_ = c.Wait() // it was killed
	return bytes.Count(append(head[:read], rest...), []byte("\nTaken: "))
}

func TestStartsWithTheBackgroundAnswered(t *testing.T) {
	c := command(t.TempDir(), "version")
	c.Args = []string{c.Args[0], "version"}
	c.Env = append(c.Env, "GODEBUG=inittrace=1")
	var trace bytes.Buffer
	c.Stderr = &trace
	require.NoError(t, c.Run())
	ours := strings.Index(trace.String(), "init ampwalk/cmd/ampwalk/background ")
	theirs := strings.Index(trace.String(), "init github.com/charmbracelet/bubbletea ")
	require.Positive(t, ours, trace.String())
	require.Positive(t, theirs, trace.String())
	assert.Less(t, ours, theirs, "bubbletea would ask the terminal first")
}

func TestInterpretJSONHasTheKeysOfTheFormat(t *testing.T) {
	dir := t.TempDir()
	siteFile, readings := filepath.Join(dir, "a.site.toml"), filepath.Join(dir, "a.readings.toml")
	require.NoError(t, os.WriteFile(siteFile, site.DemoTOML(), 0o600))
	require.NoError(t, os.WriteFile(readings, []byte("[as_found]\nsky = \"clear\"\nbattery_v = 13.1\n"), 0o600))
	var out bytes.Buffer
	require.Zero(t, run([]string{"interpret", "--site", siteFile, "--readings", readings}, strings.NewReader(""), &out, io.Discard))
	var got struct {
		Conditions []struct {
			ID          *string
			Probability *float64
			With        []string
		}
		State map[string]any
		Next  *struct {
			Reading, Step string
			Bits          float64
		}
		Suspect []any
	}
	d := json.NewDecoder(&out)
	d.DisallowUnknownFields()
	require.NoError(t, d.Decode(&got))
	require.NotEmpty(t, got.Conditions)
	for _, c := range got.Conditions {
		require.NotNil(t, c.ID)
		require.NotNil(t, c.Probability)
		require.NotNil(t, c.With)
	}
	for _, k := range []string{"daylight", "charging", "regulating", "loads_cut", "as_designed", "charge_level", "spare_w", "hours_to_cut"} {
		assert.Contains(t, got.State, k)
	}
	require.NotNil(t, got.Next)
	assert.NotEmpty(t, got.Next.Step)
	assert.NotNil(t, got.Suspect)
}

// An interrupt from the keyboard ends the line mode with the code for it and
// says how to go on.
func TestInterrupt(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("an interrupt cannot be sent to a process on Windows")
	}
	dir := t.TempDir()
	c := command(dir)
	in, err := c.StdinPipe()
	require.NoError(t, err)
	out, err := c.StdoutPipe()
	require.NoError(t, err)
	var problem bytes.Buffer
	c.Stderr = &problem
	require.NoError(t, c.Start())
	_, err = io.WriteString(in, "1\n1 2\n")
	require.NoError(t, err)
	lines := bufio.NewScanner(out)
	for taken := 0; taken < 2 && lines.Scan(); {
		if strings.HasPrefix(lines.Text(), "Taken: ") {
			taken++
		}
	}
	require.NoError(t, c.Process.Signal(os.Interrupt))
	_, _ = io.Copy(io.Discard, out)
	var exit *exec.ExitError
	require.ErrorAs(t, c.Wait(), &exit)
	assert.Equal(t, exitInterrupted, exit.ExitCode())
	assert.Contains(t, problem.String(), "--resume ")
	items, err := record.List(dir)
	require.NoError(t, err)
	require.Len(t, items, 1)
	assert.Equal(t, 2, items[0].Answers)
}
