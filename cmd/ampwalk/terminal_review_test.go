package main

import (
	"bytes"
	"crypto/rand"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/ledger/postgrestest"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/office/signature"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// An office is a ledger with three visits and a result of practice, and a supervisor
// with a key.
type office struct {
	t          *testing.T
	dir, where string
}

// officeVisit is the journal of a visit that ended and was sure of itself.
func officeVisit(t *testing.T, id, name string, at time.Time) []byte {
	t.Helper()
	var out bytes.Buffer
	w := record.NewWriter(&out)
	volts := 12.6
	for _, e := range []visiting.Entry{
		{Head: &visiting.Head{ID: id, SiteName: name, SiteTOML: string(site.DemoTOML()), Who: "A. Visitor", StartedAt: at}},
		{Answer: &visiting.Answer{Step: "permission", Kind: visiting.Did, Typed: "yes", Word: "yes", At: at.Add(time.Minute)}},
		{Answer: &visiting.Answer{Step: "rest_v", Kind: visiting.Took, Reading: reading.RestV, Typed: "12.6", Number: &volts, At: at.Add(time.Hour)}},
		{End: &visiting.End{At: at.Add(time.Hour)}},
		{Conclusion: &visiting.Conclusion{At: at.Add(time.Hour), Conditions: []visiting.ConditionPosterior{{ID: condition.Sound, Probability: 0.97}}}},
	} {
		require.NoError(t, w.Append(e))
	}
	return out.Bytes()
}

func newOffice(t *testing.T, where string) office {
	t.Helper()
	o := office{t, t.TempDir(), where}
	k, err := signature.New(rand.Reader)
	require.NoError(t, err)
	sealed, err := k.Seal([]byte(passphrase), "")
	require.NoError(t, err)
	stick := filepath.Join(o.dir, "stick")
	require.NoError(t, os.Mkdir(stick, 0o700))
	at := time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	result, err := practicelog.Result{Who: "T. Rainee", At: at, Mode: practicelog.OnOnesOwn, Scenario: "morning-round", Level: 1, Right: true, Breaches: []string{}}.JSONLine()
	require.NoError(t, err)
	for name, text := range map[string][]byte{
		"s.key":                     sealed,
		"names.toml":                fmt.Appendf(nil, "[[person]]\nname = \"S. Visor\"\nkey = %q\nfrom = 2026-01-01T00:00:00Z\n", k.Public()),
		"stick/a.visit.jsonl":       officeVisit(t, "a-first", "Dry Ridge clinic", at),
		"stick/b.visit.jsonl":       officeVisit(t, "b-second", "Dry Ridge clinic", at.AddDate(0, 1, 0)),
		"stick/c.visit.jsonl":       officeVisit(t, "c-third", "Long Bay school", at.AddDate(0, 2, 0)),
		"stick/held/practice.jsonl": result,
	} {
		file := filepath.Join(o.dir, filepath.FromSlash(name))
		require.NoError(t, os.MkdirAll(filepath.Dir(file), 0o700))
		require.NoError(t, os.WriteFile(file, text, 0o600))
	}
	assert.Contains(t, o.run("", "hand-in", "stick"), "4 imported")
	return o
}

func (o office) env() []string {
	return append(quick(o.dir), "AMPWALK_LEDGER="+o.where, "AMPWALK_NAMES=names.toml", "AMPWALK_KEY=s.key")
}

// run runs a command in the office and gives what it says.
func (o office) run(input string, args ...string) string {
	o.t.Helper()
	c := command(o.dir)
	c.Args, c.Dir, c.Env, c.Stdin = append(c.Args[:1], args...), o.dir, append(os.Environ(), o.env()...), strings.NewReader(input)
	out, err := c.CombinedOutput()
	require.NoError(o.t, err, "%s", out)
	return string(out)
}

// A supervisor's work at the desk in a real terminal, on both databases: a window that
// changes its size, filters, a step, trends, practice, a question, a comment and an
// acceptance, the passphrase asked for once and shown nowhere.
func TestDeskOnTheTerminal(t *testing.T) {
	needTmux(t)
	for _, kind := range []string{"SQLite", "PostgreSQL"} {
		t.Run(kind, func(t *testing.T) {
			where := filepath.Join(t.TempDir(), "office.ledger")
			if kind == "PostgreSQL" {
				where = postgrestest.New(t)
			}
			o := newOffice(t, where)
			term := openTerminal(t, 80, 24, o.dir, o.env(), os.Args[0], "review")
			term.waitFor("Visits: all visits", "most urgent first", "Another version of the program gives another result:")
			term.resize(60, 20)
			term.wait("the small window", func(s string) bool { return strings.Contains(s, "\n"+strings.Repeat("-", 60)+"\n") })
			term.resize(140, 45)
			term.waitFor("Everything works as designed", strings.Repeat("-", 140), "q leave")
			term.resize(80, 24)
			term.wait("the usual window", func(s string) bool { return strings.Contains(s, "\n"+strings.Repeat("-", 80)+"\n") })

			term.keys("F3")
			term.waitFor("Results of practice", "T. Rainee; morning-round, level 1")
			term.keys("Escape")
			term.waitFor("Visits: all visits")
			term.keys("F2")
			term.enter("site Dry Ridge clinic")
			screen := term.waitFor("Visits: site Dry Ridge clinic")
			assert.NotContains(t, screen, "Long Bay")

			term.keys("Enter")
			term.waitFor("Dry Ridge clinic, 2026-04-02", "Found: Everything works as designed (97 %)", "ANOTHER RESULT", "Nobody has commented on this visit yet.")
			term.keys("F4")
			term.waitFor("The site's visits so far", "2026-03-02 12.6, 2026-04-02 12.6")
			term.keys("Escape")
			term.waitFor("Found: ")
			term.keys("Down", "Down")
			term.waitFor("Step 2 of 2", "Rest voltage of the battery: 12.60 V", "Diagnosis at that time")

			term.keys("F5")
			term.waitFor("Send it back with a question")
			term.enter("Which fuse was it?")
			term.waitFor("Passphrase of your key")
			term.enter("not this one")
			term.waitFor("Problem: ")
			term.keys("Enter")
			term.waitFor("Passphrase of your key")
			term.enter(passphrase)
			term.waitFor("Signed and saved: question", "sent back; by A. Visitor")
			term.keys("F3")
			term.waitFor("A comment", "on step Rest voltage of the battery")
			term.enter("Which meter?")
			term.waitFor("Signed and saved: comment", "Comment: S. Visor")
			term.keys("F9")
			term.waitFor("This is what you accept, and sign:", "Needs attention: Another version of the program")
			term.keys("Enter")
			term.waitFor("Signed and saved: acceptance", "accepted; by A. Visitor")
			term.keys("Escape")
			term.waitFor("Visits: site Dry Ridge clinic", "accepted")
			term.keys("q")
			assert.Equal(t, "0", term.exit())
			assert.NotContains(t, term.everything(), passphrase)
			assert.Contains(t, o.run("", "verify", "b-second", "--ledger", where), "VERIFIED: nothing was changed since it was accepted")

			// The same ledger line by line.
			require.NoError(t, os.WriteFile(filepath.Join(o.dir, "pass"), []byte(passphrase+"\n"), 0o600))
			said := o.run("only state handed in\nsites\nopen a-first\nnext\nnext\ntrends\ntoday\nsend back Which one?\nclose\nonly none\norder due\npractice\nagain\nleave\n", "review", "--passphrase-file", "pass")
			for _, text := range []string{"Visits: handed in; most urgent first.", "  Long Bay school\n", "Step 2 of 2", "Battery voltage after rest [V]: 2026-03-02 12.6", "ANOTHER RESULT", "Signed and saved: question.",
				"Visits: all visits; by due date.", "T. Rainee", "Visits analysed: 0."} {
				assert.Contains(t, said, text)
			}
		})
	}
}

// Killed while the passphrase is typed, the desk has signed nothing, and opens again.
func TestDeskKilledWhileSigning(t *testing.T) {
	needTmux(t)
	o := newOffice(t, filepath.Join(t.TempDir(), "office.ledger"))
	term := openTerminal(t, 80, 24, o.dir, o.env(), os.Args[0], "review")
	term.waitFor("Visits: all visits", "Long Bay")
	term.keys("Enter")
	term.waitFor("Found: ")
	term.keys("F9")
	term.waitFor("This is what you accept, and sign:")
	term.keys("Enter")
	term.waitFor("Passphrase of your key")
	term.tmux("send-keys", "-l", passphrase[:5])
	require.NoError(t, term.process().Kill())
	term.exit()
	said := o.run("open c-third\nleave\n", "review")
	assert.Contains(t, said, "handed in. 2 steps.")
	assert.Contains(t, said, "Nobody has commented on this visit yet.")
}
