package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/physics/condition"
)

// A speaker is a player who knows of the visit only what the program says line by line.
type speaker struct {
	*player
	said   *bytes.Buffer
	read   int // how much of it
	doubts int // in turn
}

var stepSaid = regexp.MustCompile(`(?m)^Step: (.+?)(?: \([^)]*\))?$`)

func (s *speaker) Read(b []byte) (int, error) {
	news := s.said.String()[s.read:]
	s.read = s.said.Len()
	steps := stepSaid.FindAllStringSubmatch(news, -1)
	if len(steps) == 0 { // the step before is still asked: a doubt
		if s.doubts++; s.doubts > 2 {
			return 0, io.EOF
		}
		return copy(b, sure+"\n"), nil
	}
	s.doubts = 0
	title := steps[len(steps)-1][1]
	for _, step := range s.steps {
		if step.Title == title && len(s.asked) < maxSteps {
			s.asked = append(s.asked, step.ID)
			return copy(b, s.answerTo(step)+"\n"), nil
		}
	}
	return 0, io.EOF
}

// A day is the program from command to command, in one folder and with one clock.
type day struct {
	*testing.T
	now  time.Time
	data string
}

// runs runs a command that succeeds, and gives what it says.
func (d *day) runs(from io.Reader, said *bytes.Buffer, args ...string) string {
	d.Helper()
	a := &app{
		stdin: from, stdout: said, stderr: said, infer: inferOnce,
		now:    func() time.Time { d.now = d.now.Add(20 * time.Second); return d.now },
		getenv: func(name string) string { return map[string]string{"AMPWALK_DATA": d.data}[name] },
	}
	require.Equal(d, exitDone, a.run(args), "%q: %s", args, said)
	return said.String()
}

func (d *day) says(args ...string) string {
	d.Helper()
	return d.runs(strings.NewReader(""), &bytes.Buffer{}, args...)
}

// visits makes a visit as the scene has it, at that hour by the sun.
func (d *day) visits(sc scene, file string, more ...string) (said string, p *player) {
	d.Helper()
	p = sc.person(d.T)
	d.now = p.begin()
	s := &speaker{player: p, said: &bytes.Buffer{}}
	s.steps = procedure.For(p.site).Steps
	said = d.runs(s, s.said, append([]string{"--plain", "--site", file, "--who", "A. Visitor"}, more...)...)
	d.Log(p.asked)
	return said, p
}

// A day of the staff: a new site is described, a quick round finds it well, a call-out the
// same day meets a flame at the battery and an open array circuit, which is repaired; then
// everything is handed over. What a day holds is common practice.
func TestDayOfStaff(t *testing.T) {
	if testing.Short() {
		t.Skip("two visits with their inferences")
	}
	asLeft := headings(t).Heading["as_left"]
	t.Chdir(t.TempDir())
	d := &day{T: t, now: time.Date(2026, 11, 20, 7, 0, 0, 0, time.FixedZone("", 2*3600)), data: filepath.Join(t.TempDir(), "visits")}

	const file = "mill-bridge" + siteSuffix
	answers := "Mill Bridge\n24\nagm\n120\n250\n37.5\n1 2\nmppt\nyes\n1 3\nlamps 18 5; radio 6 W 6 h\n12.6 S 34.1 E\n\n"
	assert.Contains(t, d.runs(strings.NewReader(answers), &bytes.Buffer{}, "site", "new"), "Complete. A visit can begin: ampwalk --site "+file)
	assert.Contains(t, d.says("site", "check", file), "good: Mill Bridge, 24 V")
	text, err := os.ReadFile(file)
	require.NoError(t, err)

	said, p := d.visits(scene{toml: string(text), hour: 10}, file, "--quick")
	require.Contains(t, said, "VISIT SUMMARY: MILL BRIDGE")
	assert.NotContains(t, p.asked, "array-isolate", "a quick round isolates nothing")
	assert.Regexp(t, `Mill Bridge +2026-11-20 10:10 +quick +Everything works as designed, \d\d %`, d.says("visits"))

	said, p = d.visits(scene{
		toml: string(text), hour: 13, fault: condition.ArrayOpen, helps: 1,
		answers: map[string][]string{"battery-place": {"2"}},
	}, file)
	require.Contains(t, said, "VISIT SUMMARY: MILL BRIDGE")
	flame := played{player: p}
	flame.order(t, "battery-place", "flame-out", "array_a", "repair")
	assert.Equal(t, 1, p.repairs)
	assert.Contains(t, said, strings.ToUpper(asLeft))

	names, err := filepath.Glob(filepath.Join(d.data, "*"+record.Suffix))
	require.NoError(t, err)
	require.Len(t, names, 2)
	last := strings.TrimSuffix(filepath.Base(names[1]), record.Suffix)
	paper := d.says("print", last, "--for", "caretaker")
	assert.Contains(t, paper, "YOUR SOLAR SYSTEM: MILL BRIDGE")
	assert.Contains(t, paper, "Find another place, far from the battery", "the flame is out, and shall not come back")
	assert.Contains(t, d.says("print", last, "--format", "html", "--out", "mill.html"), "mill.html")
	assert.Contains(t, d.says("export", last, "--out", "mill"+record.Suffix), "mill"+record.Suffix)
	assert.Contains(t, d.says("hand-in", d.data, "mill"+record.Suffix, "--ledger", "office.ledger"), "2 imported, 0 updated, 1 here already")
	rows := d.says("report", "--ledger", "office.ledger", "--format", "csv")
	assert.Equal(t, 3, strings.Count(rows, "\n"), rows)
}
