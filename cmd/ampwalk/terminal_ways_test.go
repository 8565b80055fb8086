package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/tui"
)

// quick is the test binary as the command (see TestMain), with an inference
// that costs nothing: these tests are about the terminal.
func quick(data string) []string { return []string{actAsCommand + "=1", "AMPWALK_DATA=" + data} }

// toLight answers a visit at the demo site up to its first typed reading, the
// light on the array.
func toLight(term *terminal) {
	term.t.Helper()
	term.waitFor("Begin a visit")
	term.enter("1")
	term.waitFor("Last visit", "Begin a visit")
	term.keys("Enter")
	term.waitFor("Who is visiting?")
	term.enter("A. Visitor")
	for _, s := range []struct {
		title string
		keys  []string
	}{
		{"Permission", []string{"1"}}, {"People", []string{"Space", "Down", "Space", "Down"}}, {"Lightning", []string{"1"}}, {"Dry place", []string{"Space", "Down", "Space", "Down"}},
		{"The site and its file", []string{"Space", "Down", "Space", "Down", "Space", "Down"}},
		{"Why you are here", []string{"1"}}, {"What people complain of", slices.Repeat([]string{"Down"}, 7)}, {"What changed lately", slices.Repeat([]string{"Down"}, 6)},
		{"Battery, danger signs", []string{"1"}}, {"Cables, danger signs", []string{"1"}}, {"Sky", []string{"4"}},
		{"Shadow on the array", []string{"1"}}, {"Glass of the array", []string{"1"}},
		{"Array and mounting", []string{"Down", "Down", "Down", "Down"}},
		{"Battery and its place", []string{"Down", "Down", "Down", "Down", "Down", "Down", "Down"}},
		{"Terminals and fuses", []string{"Down", "Down", "Down", "Down", "Down"}},
		{"Indicator: array lamp", []string{"1"}}, {"Indicator: battery lamp", []string{"2"}}, {"Indicator: load lamp", []string{"1"}},
	} {
		term.waitFor("\n" + s.title + "\n")
		term.keys(append(s.keys, "Enter")...)
	}
	term.waitFor("\nLoads that are on\n")
	term.keys("1", "Enter") // digits go to the end of the list
	term.waitFor("\nLoads that do not work\n")
	term.keys("Down", "Down", "Down", "Enter")
	term.waitFor("\nAir temperature\n") // it is asked for where one stands
	term.enter("30")
	term.waitFor("\nLight on the array\n")
}

const answersToLight = 22

func TestTerminalResized(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0])
	toLight(term)
	term.tmux("send-keys", "-l", "81")
	term.waitFor("> 81_")
	sizes := []struct {
		w, h int
		sign string // that the screen has taken the size
		room bool
	}{
		{60, 20, "battery > ...", true},
		{140, 45, "| Answers", true},
		{50, 10, "This window has 50 columns and 10 rows", false},
		{80, 24, "battery > restore > leave", true},
	}
	for _, size := range sizes {
		term.resize(size.w, size.h)
		if size.room {
			term.waitFor(size.sign, "> 81_")
		} else {
			term.waitFor(size.sign)
		}
	}
	term.enter("0")
	term.waitFor("Light on the array: 810 W/m2")
}

func TestTerminalKilled(t *testing.T) {
	needTmux(t)
	t.Parallel()
	data := t.TempDir()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(data), os.Args[0])
	toLight(term)
	term.tmux("send-keys", "-l", "81")
	term.waitFor("> 81_")
	require.NoError(t, term.process().Kill())
	term.exit()
	items, err := record.List(data)
	require.NoError(t, err)
	require.Len(t, items, 1)
	assert.Equal(t, answersToLight, items[0].Answers)

	term = openTerminal(t, 80, 24, t.TempDir(), quick(data), os.Args[0])
	term.waitFor("Continue a visit", "A. Visitor", "22 answers")
	term.enter("1")
	term.waitFor("\nLight on the array\n")
	term.keys("F5")
	term.waitFor("Loads that are on", "ward lamps", "Sky", "clear")
}

func TestTerminalSuspended(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), append(quick(t.TempDir()), "PS1=shell> ", "ENV="), "sh", "-i")
	term.waitFor("shell>")
	term.enter(`"` + os.Args[0] + `"`)
	toLight(term)
	term.tmux("send-keys", "-l", "81")
	term.waitFor("> 81_")
	term.keys("C-z")
	term.wait("the shell's prompt after it tells of the job", func(s string) bool {
		lines := strings.Split(strings.TrimSpace(s), "\n")
		return len(lines) > 2 && lines[len(lines)-1] == "shell>"
	})
	term.enter("fg")
	term.waitFor("\nLight on the array\n", "> 81_")
	term.enter("0")
	term.waitFor("Light on the array: 810 W/m2")
}

// Where the program leads its session, or what leads it is no shell with jobs, nothing
// would bring it back once it is stopped: it is not stopped, and can be left and ended
// as ever.
func TestTerminalWithoutShell(t *testing.T) {
	needTmux(t)
	t.Parallel()
	asked := func(t *testing.T, term *terminal) {
		toLight(term)
		term.tmux("send-keys", "-l", "81")
		term.waitFor("> 81_")
		term.keys("C-z")
		term.waitFor("no shell could bring you back", "> 81_")
		term.enter("0")
		term.waitFor("Light on the array: 810 W/m2")
	}
	t.Run("the program leads", func(t *testing.T) {
		t.Parallel()
		data := t.TempDir()
		term := newTerminal(t)
		term.open(80, 24, t.TempDir(), quick(data), "sh", "-c", `exec "$0"`, os.Args[0])
		asked(t, term)
		require.NoError(t, term.leader().Signal(syscall.SIGTERM))
		term.gone()
		items, err := record.List(data)
		require.NoError(t, err)
		require.Len(t, items, 1)
		assert.Equal(t, answersToLight+1, items[0].Answers)
	})
	t.Run("a script leads", func(t *testing.T) {
		t.Parallel()
		term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0])
		asked(t, term)
		require.NoError(t, term.process().Signal(syscall.SIGTERM))
		term.exit()
	})
}

var (
	anyColour   = regexp.MustCompile(`\x1b\[(?:[0-9;]*;)?(?:[349][0-7]|10[0-7]|[34]8[:;][0-9:;]*)m`)
	basicColour = regexp.MustCompile(`\x1b\[(?:[0-9;]*;)?[39][0-7]m`) // ECMA-48, 8.3.117, and the bright ones
	bold        = regexp.MustCompile(`\x1b\[(?:[0-9;]*;)?1m`)
	richColour  = regexp.MustCompile(`\x1b\[[0-9;]*[34]8[:;][25]`) // ISO 8613-6: 256 colours and more
)

func TestTerminalColours(t *testing.T) {
	needTmux(t)
	t.Parallel()
	screen := func(t *testing.T, env ...string) string {
		term := openTerminal(t, 80, 24, t.TempDir(), append(quick(t.TempDir()), env...), os.Args[0])
		toLight(term)
		return term.colours()
	}
	t.Run("NO_COLOR", func(t *testing.T) {
		t.Parallel()
		s := screen(t, "NO_COLOR=1")
		assert.NotRegexp(t, anyColour, s)
		assert.Regexp(t, bold, s, "bold and reverse are no colours")
	})
	t.Run("NO_COLOR in bright sun", func(t *testing.T) {
		t.Parallel()
		data := t.TempDir()
		require.NoError(t, settings{Theme: tui.Sunlight}.write(data))
		term := openTerminal(t, 80, 24, t.TempDir(), append(quick(data), "NO_COLOR=1"), os.Args[0])
		toLight(term)
		assert.NotRegexp(t, anyColour, term.colours())
	})
	t.Run("256 colours", func(t *testing.T) {
		t.Parallel()
		assert.Regexp(t, richColour, screen(t, "TERM=tmux-256color"))
	})
	t.Run("sixteen colours", func(t *testing.T) {
		t.Parallel()
		s := screen(t, "TERM=xterm-16color")
		assert.Regexp(t, basicColour, s)
		assert.NotRegexp(t, richColour, s)
	})
}

// The theme for bright sun is there again the next time, in the colours that the
// terminal has: black is 16 and white 231 of the 256 (the corners of the usual
// cube), and whatever it is told in true colour.
func TestTerminalInBrightSun(t *testing.T) {
	needTmux(t)
	t.Parallel()
	for name, tt := range map[string]struct {
		env  []string
		code string
	}{
		"sixteen":     {[]string{"TERM=xterm-16color"}, `\x1b\[[0-9;]*107m`},
		"256":         {[]string{"TERM=tmux-256color"}, `\x1b\[[0-9;]*48;5;231m`},
		"true colour": {[]string{"TERM=tmux-256color", "COLORTERM=truecolor"}, `\x1b\[[0-9;]*48;2;255;255;255m`},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			data := t.TempDir()
			term := openTerminal(t, 80, 24, t.TempDir(), append(quick(data), tt.env...), os.Args[0])
			term.waitFor("Begin a visit")
			assert.NotRegexp(t, tt.code, term.colours())
			term.keys("F12", "F12")
			term.waitFor("Theme: bright sun")
			assert.Regexp(t, tt.code, term.colours())
			term.keys("q")
			assert.Equal(t, "0", term.exit())

			term = openTerminal(t, 80, 24, t.TempDir(), append(quick(data), tt.env...), os.Args[0])
			term.waitFor("Begin a visit")
			assert.Regexp(t, tt.code, term.colours())
		})
	}
}

// Where the locale has no Unicode, the drawing is ASCII.
func TestTerminalWithoutUnicode(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), append(quick(t.TempDir()), "LC_ALL=C"), os.Args[0])
	toLight(term)
	term.keys("F9")
	screen := term.waitFor("+ controller", "o--o-[10A]", "wiring of")
	assert.NotRegexp(t, `[^\x00-\x7f]`, screen)
}

// Pasted text is text: its line end gives no answer, its letters are no commands.
func TestTerminalPaste(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0])
	toLight(term)
	term.tmux("set-buffer", "81q0\n")
	term.tmux("paste-buffer", "-p") // as a terminal does that was asked for bracketed paste
	term.waitFor("> 81q0", "not yet: there is a letter inside the number", "\nLight on the array\n")
	term.keys("BSpace", "BSpace", "BSpace")
	term.enter("0")
	term.waitFor("Light on the array: 810 W/m2")
}

// A book is pasted by accident. Its beginning is taken, and the keys after it work at once.
func TestTerminalPasteOfABook(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), os.Args[0])
	toLight(term)
	book := filepath.Join(t.TempDir(), "book")
	require.NoError(t, os.WriteFile(book, bytes.Repeat([]byte("8"), 10<<20), 0o600))
	term.tmux("load-buffer", book)
	term.tmux("paste-buffer", "-p")
	term.keys("C-u")
	term.enter("810")
	term.waitFor("Light on the array: 810 W/m2")
}

// A window too small for the screens leads on line by line, with all answers.
func TestTerminalTooSmall(t *testing.T) {
	needTmux(t)
	t.Parallel()
	data := t.TempDir()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(data), os.Args[0])
	toLight(term)
	term.resize(50, 12)
	term.waitFor("This window has 50 columns and 12 rows")
	term.keys("Enter")
	term.waitFor("Your answer (800), or help:")
	assert.Contains(t, term.everything(), "Step: Light on the array (Look)")
	term.enter("810")
	term.wait("the answer taken", func(string) bool { return strings.Contains(term.everything(), "Taken: 810 W/m2") })
	items, err := record.List(data)
	require.NoError(t, err)
	require.Len(t, items, 1)
	assert.Equal(t, answersToLight+1, items[0].Answers)
}

// Where its output goes into a pipe, the program leads line by line.
func TestTerminalPiped(t *testing.T) {
	needTmux(t)
	t.Parallel()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(t.TempDir()), "sh", "-c", `"$0" | cat`, os.Args[0])
	term.waitFor("Step: Permission (Before you touch)", "Your answer (its number), or help:")
}
