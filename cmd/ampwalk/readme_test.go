package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/site"
)

var update = flag.Bool("update", false, "rewrite the examples and the picture of README.md")

const readme = "../../README.md"

// A block is what stands between two fences of README.md, whatever the fence says.
var block = regexp.MustCompile("(?ms)^```[a-z]*\n(.*?)^```$")

// Every "$ " line of README.md is run in the folder of the repository and gives
// what stands below it.
func TestReadmeExamples(t *testing.T) {
	if testing.Short() {
		t.Skip("most examples are an inference")
	}
	if runtime.GOOS == "windows" {
		t.Skip("the examples are written for a POSIX shell")
	}
	ran := 0
	edit(t, func(old string) string {
		return block.ReplaceAllStringFunc(old, func(fenced string) string {
			inside := block.FindStringSubmatch(fenced)[1]
			if !strings.HasPrefix(inside, "$ ") {
				return fenced
			}
			var now strings.Builder
			for _, example := range strings.Split("\n"+inside, "\n$ ")[1:] {
				command, want := cutCommand(example)
				got := shell(t, command)
				ran++
				if !*update {
					assertAlike(t, want, got, command)
				}
				now.WriteString("$ " + command + "\n" + got)
			}
			return strings.Replace(fenced, inside, now.String(), 1)
		})
	})
	assert.Greater(t, ran, 2)
}

// The pictures of README.md are what the program shows in a terminal.
func TestReadmePicture(t *testing.T) {
	if testing.Short() {
		t.Skip("the way to the picture takes a dozen inferences")
	}
	needTmux(t)
	term, got := screenOf(t)
	lines := strings.Split(strings.TrimSuffix(got, "\n"), "\n")
	require.LessOrEqual(t, len(lines), 24)
	edit(t, func(old string) string {
		before, rest, found := strings.Cut(old, "<!-- picture -->\n")
		picture, after, ended := strings.Cut(rest, "<!-- end of picture -->\n")
		require.True(t, found && ended, "README.md has no place for the picture")
		if !*update {
			assertAlike(t, block.FindStringSubmatch(picture)[1], got, "the picture")
		}
		return before + "<!-- picture -->\n```text\n" + got + "```\n<!-- end of picture -->\n" + after
	})
	for _, p := range pictures {
		p.make(term)
		keepPicture(t, p.file, svg(term.tmux("capture-pane", "-p", "-e", "-N"), p.title, p.w, p.h))
	}
}

// typedThere is what the tutorial of README.md says to type, and the picture that follows.
var typedThere = regexp.MustCompile("(?s)<!-- typed: (.*?) -->\n```text\n(.*?)```\n")

// The tutorial of README.md, typed as it stands there: each picture is what the terminal
// shows then.
func TestReadmeTutorial(t *testing.T) {
	if testing.Short() {
		t.Skip("a dozen inferences")
	}
	needTmux(t)
	program, err := exec.LookPath("ampwalk") // this binary, see TestMain
	require.NoError(t, err)
	term := openTerminal(t, 80, 24, t.TempDir(), []string{"AMPWALK_DATA=" + t.TempDir()},
		program, "practice", "--scenario", "no-charge-since-storm", "--who", "A. Trainee")
	screen := term.waitFor("What do you do?")
	pictures := 0
	edit(t, func(old string) string {
		return typedThere.ReplaceAllStringFunc(old, func(part string) string {
			found := typedThere.FindStringSubmatch(part)
			for typed := range strings.SplitSeq(found[1], "; ") {
				screen = term.practises(typed, screen)
			}
			now := strings.TrimRight(screen, "\n") + "\n"
			if !*update {
				assertAlike(t, found[2], now, "the picture after "+found[1])
			}
			pictures++
			return strings.Replace(part, found[2]+"```\n", now+"```\n", 1)
		})
	})
	assert.Equal(t, 3, pictures)
	assert.Contains(t, screen, "DEBRIEF")
}

// practises does one thing at the bench, a number in a menu or a line of text, and waits
// until what came of it is shown.
func (term *terminal) practises(typed, before string) string {
	if _, err := strconv.Atoi(typed); err == nil {
		term.keys(typed)
		term.wait("the choice", func(s string) bool { return strings.Contains(s, "> "+typed+" ") })
		term.keys("Enter")
	} else {
		term.keys("/")
		term.waitFor("Type it")
		term.enter(typed)
	}
	last, same := "", 0
	return term.wait("what comes of "+typed, func(s string) bool {
		if same++; s != last {
			last, same = s, 0
		}
		return same > 3 && s != before && !strings.Contains(s, "Working") && !strings.Contains(s, "Type it")
	})
}

// The picture of a site being described: one figure of the module's label was
// assumed, the next one disagrees with the others as it is typed.
func TestReadmePictureOfTheForm(t *testing.T) {
	needTmux(t)
	text, err := os.ReadFile(filepath.Join(filepath.Dir(readme), "testdata/examples/mill-lane.site.toml"))
	require.NoError(t, err)
	dir := t.TempDir()
	text = regexp.MustCompile(`(?m)^(voc_v|isc_a) = .*\n`).ReplaceAll(text, nil)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "mill-lane.site.toml"), text, 0o600))
	program, err := exec.LookPath("ampwalk") // this binary, see TestMain
	require.NoError(t, err)
	term := openTerminal(t, 80, 24, dir, []string{"AMPWALK_DATA=" + t.TempDir()}, program, "site", "edit", "mill-lane.site.toml")
	term.waitFor("Module - Open-circuit voltage, Voc", "? help")
	term.keys("F2")
	term.waitFor("Module - Short-circuit current, Isc", "22.3 V  assumed", "? help")
	term.tmux("send-keys", "-l", "--", "4.1")
	term.waitFor("> 4.1_", "expected", "? help")
	keepPicture(t, "form.svg", svg(term.tmux("capture-pane", "-p", "-e", "-N"), "Describing a site: the label's figures against each other", 80, 24))
}

// pictures are the other pictures of README.md, each made from the screen of the
// one before.
var pictures = []struct {
	file, title string
	w, h        int
	make        func(*terminal)
}{
	{"question.svg", "A question in a window of 80 by 24", 80, 24, func(*terminal) {}},
	{"wide.svg", "The same in a window of 140 by 45: drawing, belief, why and answers side by side", 140, 45, func(term *terminal) {
		term.resize(140, 45)
		whole(term, site.Demo().Name, 45, true)
	}},
	{"why.svg", "Why, and what if", 80, 40, func(term *terminal) {
		term.resize(80, 40)
		whole(term, site.Demo().Name, 40, false)
		term.keys("F4")
		whole(term, "Why, and what if", 40, false)
	}},
	{"sun.svg", "The theme for bright sun", 80, 24, func(term *terminal) {
		term.keys("Escape")
		whole(term, site.Demo().Name, 40, false)
		term.resize(80, 24)
		whole(term, site.Demo().Name, 24, false)
		term.keys("F12", "F12")
		term.waitFor("Theme: bright sun")
		term.keys("1", "2", ".", "4")
		term.waitFor("> 12.4_", "? help")
	}},
}

// whole waits for a screen of so many rows, in columns or not: tmux tells the
// program of a new size only after a while.
func whole(term *terminal, title string, rows int, columns bool) {
	term.t.Helper()
	term.wait(fmt.Sprintf("%s in %d rows", title, rows), func(s string) bool {
		lines := strings.Split(strings.TrimRight(s, "\n"), "\n")
		return len(lines) == rows && strings.HasPrefix(lines[0], title) && strings.Contains(lines[rows-1], "? help") &&
			strings.Contains(s, "| What it can be") == columns
	})
}

const pictureFolder = "../../testdata/pictures"

// keepPicture keeps a picture, or compares its words with those of the kept one.
func keepPicture(t *testing.T, file, now string) {
	t.Helper()
	path := filepath.Join(pictureFolder, file)
	if *update {
		require.NoError(t, os.MkdirAll(pictureFolder, 0o755))
		require.NoError(t, os.WriteFile(path, []byte(now), 0o644))
	}
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assertAlike(t, inPicture(t, string(kept)), inPicture(t, now), file)
	text, err := os.ReadFile(readme)
	require.NoError(t, err)
	assert.Contains(t, string(text), "testdata/pictures/"+file)
}

// edit passes README.md through change and, where it is to be updated, keeps
// what came of it.
func edit(t *testing.T, change func(old string) string) {
	t.Helper()
	old, err := os.ReadFile(readme)
	require.NoError(t, err)
	changed := change(string(old))
	if *update {
		require.NoError(t, os.WriteFile(readme, []byte(changed), 0o644))
	}
}

// cutCommand splits an example into its command, which goes on after a line
// that ends in a backslash, and what it puts out.
func cutCommand(example string) (command, output string) {
	lines := strings.SplitAfter(example, "\n")
	n := 1
	for n < len(lines) && strings.HasSuffix(lines[n-1], "\\\n") {
		n++
	}
	return strings.TrimSuffix(strings.Join(lines[:n], ""), "\n"), strings.Join(lines[n:], "")
}

// shell runs a command with this test binary in the place of "go run
// ./cmd/ampwalk" and gives all that it puts out.
func shell(t *testing.T, command string) string {
	t.Helper()
	c := exec.Command("sh", "-c", strings.ReplaceAll(command, "go run ./cmd/ampwalk", "ampwalk"))
	c.Dir = filepath.Dir(readme)
	c.Env = append(os.Environ(), "AMPWALK_DATA="+t.TempDir(), "XDG_CACHE_HOME="+t.TempDir())
	out, err := c.CombinedOutput()
	var exit *exec.ExitError
	require.True(t, err == nil || errors.As(err, &exit), "%s: %v", command, err)
	return string(out)
}

// halfway plays a visit to the demo site, its array circuit open and few
// instruments at hand, up to the array's voltage, which is asked for next.
func halfway(t testing.TB) (dir, visit string, next procedure.Step) {
	t.Helper()
	at := time.Date(2026, 11, 20, 10, 30, 0, 0, time.FixedZone("", 2*3600))
	a := &app{stdout: io.Discard, stderr: io.Discard, now: func() time.Time { return at }, infer: belief.Infer}
	b := a.bookIn(t.TempDir())
	v, err := b.begin(site.DemoTOML(), "", visiting.Full)
	require.NoError(t, err)
	give := func(a visiting.Answer) {
		a.At = at
		require.NoError(t, v.Give(a))
	}
	found := map[string]string{
		"sky": "overcast", "shade": "none", "glass": "clean", "loads-on": "1",
		"lamps.battery lamp": "two bars", "lamps.load lamp": "lit",
		"battery_v": "12.2", "post_v": "12.2",
	}
	const last = "array_v"
	for _, s := range v.Procedure().Steps {
		if s.Kind == procedure.Take && found[s.ID] == "" && s.ID != last {
			give(visiting.Answer{Step: s.ID, Reading: s.Reading, Kind: visiting.Cannot, Why: procedure.NoInstrument, Reason: "no instrument"})
		}
	}
	p := v.Prompt()
	for ; p.Step.ID != last; p = v.Prompt() {
		if !p.Step.Always {
			r, err := b.infer(v.Input())
			require.NoError(t, err)
			v.Learn(v.Seq(), r)
			if p = v.Prompt(); p.Step.ID == last {
				break
			}
		}
		require.False(t, p.Done, "the visit to be pictured no longer comes to %s", last)
		text := found[p.Step.ID]
		if text == "" && p.Step.Kind != procedure.Take {
			text = goodWord(p.Step, "")
		}
		a, err := v.Read(p, text)
		require.NoError(t, err, p.Step.ID)
		give(a)
	}
	b.close()
	return b.dir, v.Head().ID, p.Step
}

// screenOf is the screen of the visit of halfway after the array's voltage was typed.
func screenOf(t *testing.T) (*terminal, string) {
	t.Helper()
	dir, visit, next := halfway(t)
	program, err := exec.LookPath("ampwalk") // this binary, see TestMain
	require.NoError(t, err)
	term := openTerminal(t, 80, 24, t.TempDir(), nil, program, "--data", dir, "--resume", visit)
	term.waitFor("\n"+next.Title+"\n", "\nNothing has been measured yet.")
	term.enter("0.02")
	return term, term.wait("the next question", func(s string) bool {
		return strings.Contains(s, "Noted: "+next.Title+": 0.02 V") && strings.Contains(s, "\nNow: ") && !strings.Contains(s, "Working")
	})
}

var (
	figure = regexp.MustCompile(`[+-]?\d+(\.\d+)?`)
	bar    = regexp.MustCompile(`[█·#]+\.*|\.{3,}|[\x{2800}-\x{28ff}]+|[─├┤]+`)
)

// assertAlike compares two texts word for word. Figures may differ by a
// twentieth, whole ones, such as a percentage, by 10: processors round
// differently, and the text need not follow every change of the model.
func assertAlike(t *testing.T, want, got, what string) {
	t.Helper()
	words := func(text string) []string {
		return strings.Fields(figure.ReplaceAllString(bar.ReplaceAllString(text, ""), "0"))
	}
	if !assert.Equal(t, words(want), words(got), "%s; go test ./cmd/ampwalk -run Readme -update rewrites it", what) {
		return
	}
	a, b := figure.FindAllString(want, -1), figure.FindAllString(got, -1)
	for i := range a {
		x, _ := strconv.ParseFloat(a[i], 64) // the pattern has numbers only
		y, _ := strconv.ParseFloat(b[i], 64)
		limit := 0.05 * math.Abs(x)
		if strings.Contains(a[i], ".") {
			limit = max(limit, 0.05)
		} else {
			limit = max(limit, 10)
		}
		assert.InDelta(t, x, y, limit, "%s: %s is now %s", what, a[i], b[i])
	}
}
