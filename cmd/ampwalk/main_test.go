package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// actAsCommand makes the test binary the command, with an inference that costs
// nothing, so that a test can start and kill it.
const actAsCommand = "AMPWALK_TEST_AS_COMMAND"

func TestMain(m *testing.M) {
	mayReword()
	if os.Getenv(actAsCommand) != "" {
		a := &app{stdin: os.Stdin, stdout: os.Stdout, stderr: os.Stderr, getenv: os.Getenv, now: time.Now, infer: cheap}
		mayDie(a)
		os.Exit(a.run(os.Args[1:]))
	}
	testscript.Main(m, map[string]func(){
		"ampwalk": func() { os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) },
	})
}

// cheap is a belief that knows nothing: every reading not yet tried is worth taking.
func cheap(in belief.Input) (*belief.Result, error) {
	r := &belief.Result{Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.5}, {ID: condition.ArrayOpen, P: 0.5}}}
	for _, s := range reading.Specs {
		if !in.Readings.Has(s.Key) {
			r.Gains = append(r.Gains, belief.Gain{Reading: s.Key, Bits: 1})
		}
	}
	return r, nil
}

// passphrase is that of the keys in scripts.
const passphrase = "only for tests"

func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		UpdateScripts:       os.Getenv("UPDATE") != "",
		Setup: func(e *testscript.Env) error {
			e.Setenv("AMPWALK_DATA", filepath.Join(e.WorkDir, "visits"))
			e.Setenv("XDG_CACHE_HOME", filepath.Join(e.WorkDir, "cache"))
			return nil
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			// onlyvisit VAR puts the id of the only recorded visit into VAR.
			"onlyvisit": func(ts *testscript.TestScript, neg bool, args []string) {
				names, err := filepath.Glob(filepath.Join(ts.Getenv("AMPWALK_DATA"), "*.visit.jsonl"))
				ts.Check(err)
				if len(names) != 1 {
					ts.Fatalf("%d visits, want 1", len(names))
				}
				ts.Setenv(args[0], strings.TrimSuffix(filepath.Base(names[0]), ".visit.jsonl"))
			},
			// says KEY VISIT-FILE NAME KIND TEXT signs a review and puts it beside the visit.
			"says": func(ts *testscript.TestScript, neg bool, args []string) {
				sealed := []byte(ts.ReadFile(args[0]))
				k, err := signature.Open(sealed, []byte(passphrase))
				ts.Check(err)
				c, err := record.Parse([]byte(ts.ReadFile(args[1])))
				ts.Check(err)
				file := ts.MkAbs(strings.TrimSuffix(args[1], record.Suffix) + review.Suffix)
				text, _ := os.ReadFile(file) // there may be none
				list, err := review.Parse(text)
				ts.Check(err)
				r := review.Review{Visit: c.Head().ID, Head: c.Fingerprint(), Who: args[2], At: time.Now(), Kind: review.Kind(args[3]), Text: args[4]}
				if r.Kind == review.Accept {
					r.Text, r.Found = "", []string{args[4]}
				}
				e, err := review.Sign(review.Last(list), r, k)
				ts.Check(err)
				ts.Check(os.WriteFile(file, append(text, e.Line...), 0o600))
			},
			// manyvisits DIR puts visits of many sites there, and their number into MANY.
			"manyvisits": func(ts *testscript.TestScript, neg bool, args []string) {
				n := effort.Of(40, 200, 2000)
				ts.Check(manyVisits(ts.MkAbs(args[0]), n))
				ts.Setenv("MANY", fmt.Sprint(n))
			},
			// tear cuts the last n bytes off a file.
			"tear": func(ts *testscript.TestScript, neg bool, args []string) {
				data := ts.ReadFile(args[0])
				var n int
				_, err := fmt.Sscan(args[1], &n)
				ts.Check(err)
				ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(data[:len(data)-n]), 0o600))
			},
		},
	})
}

// manyVisits writes so many stopped visits to thirty sites, by ten people.
func manyVisits(dir string, n int) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	at := time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)
	for i := range n {
		name := fmt.Sprintf("Site %d", i%30)
		id := fmt.Sprintf("v%d", i)
		var journal bytes.Buffer
		v, err := visiting.New(visiting.Head{
			ID: id, SiteName: name, Who: fmt.Sprintf("Visitor %d", i%10), StartedAt: at.Add(time.Duration(i) * time.Hour),
			SiteTOML: strings.Replace(string(site.DemoTOML()), site.Demo().Name, name, 1),
		}, record.NewWriter(&journal))
		if err != nil {
			return err
		}
		for p := v.Prompt(); !p.Done; p = v.Prompt() {
			a, err := v.Read(p, goodAnswer(p))
			if len(v.History()) == 25 {
				a, err = visiting.Answer{Step: p.Step.ID, Kind: visiting.Stop, Reason: "enough for today"}, nil
			}
			if err != nil {
				return fmt.Errorf("%s: %w", p.Step.ID, err)
			}
			a.At = v.Head().StartedAt.Add(time.Duration(len(v.History())) * time.Minute)
			if err := v.Give(a); err != nil {
				return err
			}
		}
		if err := v.Conclude(); err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, id+record.Suffix), journal.Bytes(), 0o600); err != nil {
			return err
		}
	}
	return nil
}

func TestExitCodes(t *testing.T) {
	dir := t.TempDir()
	good := filepath.Join(dir, "good.site.toml")
	bad := filepath.Join(dir, "bad.site.toml")
	require.NoError(t, os.WriteFile(good, demo(t), 0o600))
	require.NoError(t, os.WriteFile(bad, []byte("name = 3\n"), 0o600))
	tests := []struct {
		args string
		code int
	}{
		{"version", exitDone},
		{"help", exitDone},
		{"help interpret", exitDone},
		{"--help", exitDone},
		{"interpret -h", exitDone},
		{"--version", exitDone},
		{"-version", exitDone},
		{"-help", exitDone},
		{"practice list -h", exitDone},
		{"help practice list", exitDone},
		{"key -h", exitDone},
		{"visits -data " + dir, exitDone},
		{"site check " + good, exitDone},
		{"visits", exitDone},
		{"site check " + bad, exitUsage},
		{"site check " + good + " " + bad, exitUsage},
		{"site check not-there.toml", exitUsage},
		{"site check", exitUsage},
		{"site", exitUsage},
		{"site lint x", exitUsage},
		{"site check -x", exitUsage},
		{"practise", exitUsage},
		{"practice lst", exitUsage},
		{"practice --level two", exitUsage},
		{"practice --plain=maybe", exitUsage},
		{"practice --level", exitUsage},
		{"completion", exitUsage},
		{"completion csh", exitUsage},
		{"man not-there", exitFailed},
		{"interpret", exitUsage},
		{"interpret --site " + good, exitUsage},
		{"interpret --site " + good + " --readings " + bad, exitUsage},
		{"interpret --site " + good + " --readings " + good + " --format xml", exitUsage},
		{"interpret --depth 3", exitUsage},
		{"print", exitUsage},
		{"print not-there", exitUsage},
		{"print a b", exitUsage},
		{"visits now", exitUsage},
		{"review x", exitUsage},
		{"review --ledger not-there", exitUsage},
		{"review --names not-there", exitUsage},
		{"hand-in", exitUsage},
		{"hand-in not-there", exitUsage},
		{"report --format xml", exitUsage},
		{"report --ledger not-there", exitUsage},
		{"report --state lost", exitUsage},
		{"report --from monday", exitUsage},
		{"report --condition tired", exitUsage},
		{"verify", exitUsage},
		{"verify not-there", exitUsage},
		{"verify x --ledger not-there", exitUsage},
		{"verify x --ledger y --reviews z", exitUsage},
		{"key", exitUsage},
		{"key new", exitUsage},
		{"key new --who A", exitUsage}, // no terminal, no file
		{"key show --key not-there", exitUsage},
		{"walk", exitUsage},
		{"help walk", exitUsage},
		{"help site walk", exitUsage},
		{"--speed 3", exitUsage},
		{"--resume not-there", exitUsage},
		{"--resume ../x", exitUsage},
		{"--site " + bad, exitUsage},
		{"--site " + good + " --resume x", exitUsage},
		{"--instruments " + bad, exitUsage},
		{"--instruments not-there.toml", exitUsage},
		{"--instruments " + good + " --resume x", exitUsage},
		{"--data /dev/null/x --site " + good, exitFailed},
	}
	for _, tt := range tests {
		t.Run(tt.args, func(t *testing.T) {
			var out, problem bytes.Buffer
			a := &app{
				stdin: strings.NewReader(""), stdout: &out, stderr: &problem, now: time.Now, infer: cheap,
				getenv: func(k string) string { return map[string]string{"AMPWALK_DATA": filepath.Join(dir, "visits")}[k] },
			}
			assert.Equal(t, tt.code, a.run(strings.Fields(tt.args)), "%s%s", &out, &problem)
			if tt.code == exitDone {
				assert.NotEmpty(t, out.String())
				assert.Empty(t, problem.String())
			} else {
				assert.NotEmpty(t, problem.String())
			}
		})
	}
}

// A visit keeps the limits of the instruments it was started with.
func TestInstruments(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "mine.toml")
	require.NoError(t, os.WriteFile(file, []byte("[instrument.voltmeter]\npercent = 0.05\ndigits = 3\nresolution = 0.001\n"), 0o600))
	var out, problem bytes.Buffer
	a := &app{
		stdin: strings.NewReader(""), stdout: &out, stderr: &problem, now: time.Now, infer: cheap,
		getenv: func(string) string { return "" },
	}
	require.Equal(t, exitDone, a.run([]string{"--data", dir, "--instruments", file}), "%s", &problem)
	items, err := record.List(dir)
	require.NoError(t, err)
	require.Len(t, items, 1)
	entries, _, err := record.Read(filepath.Join(dir, items[0].ID+record.Suffix))
	require.NoError(t, err)
	v, err := visiting.Resume(entries, nil)
	require.NoError(t, err)
	got := v.Input().Readings.Instruments
	assert.Equal(t, quantity.Instrument{Percent: 0.05, Digits: 3, Resolution: 0.001}, got[reading.Voltmeter])
	assert.Equal(t, reading.DefaultInstruments()[reading.Clamp], got[reading.Clamp], "not described in the file")
}
