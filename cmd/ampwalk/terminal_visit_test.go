package main

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/physics/site"
)

// siteNow is the demo site moved along its parallel to where the sun's hour is
// now as given: in a terminal the visit has the machine's clock.
func siteNow(t *testing.T, hour float64) []byte {
	t.Helper()
	now := time.Now().UTC()
	utc := float64(now.Hour()) + float64(now.Minute())/60
	east := 15 * (hour - utc)
	for ; east > 180; east -= 360 {
	}
	for ; east < -180; east += 360 {
	}
	text := string(site.DemoTOML())
	for key, value := range map[string]float64{"longitude_deg": east, "utc_offset_h": math.Round(east / 15)} {
		line := regexp.MustCompile(`(?m)^` + key + ` = \S+`)
		require.Regexp(t, line, text)
		text = line.ReplaceAllString(text, fmt.Sprintf("%s = %.1f", key, value))
	}
	return []byte(text)
}

// asked is the step whose title stands on the screen, false while there is none.
func asked(steps []procedure.Step, screen string) (procedure.Step, bool) {
	for line := range strings.SplitSeq(screen, "\n") {
		line = strings.TrimSpace(line)
		if i := slices.IndexFunc(steps, func(s procedure.Step) bool { return s.Title == line }); i >= 0 {
			return steps[i], true
		}
	}
	return procedure.Step{}, false
}

// answer gives the answer to a step as the screens take it: lists by their numbers.
func (term *terminal) answer(s procedure.Step, answer string) {
	term.t.Helper()
	switch {
	case len(s.Checks) > 0:
		for range s.Checks {
			term.keys("Space", "Down")
		}
		term.keys("Enter")
	case s.Kind == procedure.Choose:
		for range s.Choices {
			if answer == "all" {
				term.keys("Space")
			}
			term.keys("Down")
		}
		term.keys("Enter")
	case s.Kind != procedure.Take && len(s.Choices) > 0:
		term.enter(answer)
	case s.Kind == procedure.Act:
		term.keys("Enter")
	case len(s.Choices) > 0:
		term.enter(fmt.Sprint(slices.Index(s.Choices.IDs(), answer) + 1))
	default:
		term.enter(answer)
	}
}

// play answers as the person would until the summary shows, and gives the steps answered.
func (term *terminal) play(p *person) (steps []procedure.Step) {
	term.t.Helper()
	for last := ""; ; {
		require.Less(term.t, len(steps), maxSteps)
		var step procedure.Step
		screen := term.wait("another step than "+last, func(s string) bool {
			found, ok := asked(p.steps, s)
			step = found
			return ok && found.ID != last || strings.Contains(s, "Summary of the visit")
		})
		if strings.Contains(screen, "Summary of the visit") {
			return steps
		}
		term.answer(step, p.answer(step))
		last, steps = step.ID, append(steps, step)
	}
}

// program builds the program as a user has it.
func program(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "ampwalk")
	out, err := exec.Command("go", "build", "-o", path, ".").CombinedOutput()
	require.NoError(t, err, "%s", out)
	return path
}

// Each situation in a real terminal, from the first screen to the summary.
func TestSituationsOnTheTerminal(t *testing.T) {
	needTmux(t)
	if testing.Short() {
		t.Skip("whole visits take a while")
	}
	ampwalk := program(t)
	for _, sit := range met() {
		t.Run(sit.name, func(t *testing.T) {
			t.Parallel()
			dir, data := t.TempDir(), t.TempDir()
			require.NoError(t, os.WriteFile(filepath.Join(dir, "here.site.toml"), siteNow(t, sit.hour), 0o600))
			term := openTerminal(t, 80, 24, dir, []string{"AMPWALK_DATA=" + data}, ampwalk)
			term.waitFor("Begin a visit", "here.site.toml")
			term.enter("1")
			term.waitFor("Last visit", "Begin a visit")
			term.keys("Enter")
			term.waitFor("Who is visiting?")
			term.enter("A. Visitor")

			p := sit.person()
			term.play(p)
			term.keys("F6")
			term.waitFor("Written to ")
			pdfs, err := filepath.Glob(filepath.Join(dir, "*.pdf"))
			require.NoError(t, err)
			assert.Len(t, pdfs, 2, "for staff and for the caretaker")
			term.keys("q")
			assert.Equal(t, "0", term.exit())
			_, end, found := strings.Cut(term.everything(), "VISIT SUMMARY")
			require.True(t, found, "the summary stays on the terminal")
			sit.check(t, end)
			items, err := record.List(data)
			require.NoError(t, err)
			require.Len(t, items, 1)
			assert.True(t, items[0].Finished)
		})
	}
}
