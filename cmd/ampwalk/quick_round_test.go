package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/site"
	"ampwalk/tui/plain"
)

// What a quick round may take where nothing is wrong (choices of this project).
const (
	quickScreens = 14
	quickMinutes = 12.
)

// short checks that a quick round was one: so many screens, where a list is one, so many
// minutes, and nothing switched off.
func short(t *testing.T, steps []procedure.Step) {
	t.Helper()
	screens, minutes, sheet := 0, 0., ""
	for _, s := range steps {
		if s.Sheet.ID == "" || s.Sheet.ID != sheet {
			screens++
		}
		sheet, minutes = s.Sheet.ID, minutes+s.Minutes
		assert.NotContains(t, []procedure.Rung{procedure.Isolate, procedure.Battery}, s.Rung, s.ID)
	}
	t.Logf("%d steps, %d screens, %.1f minutes", len(steps), screens, minutes)
	assert.LessOrEqual(t, screens, quickScreens)
	assert.LessOrEqual(t, minutes, quickMinutes)
}

// A quick round in a real terminal, by keys alone, from the start screen to the summary.
func TestQuickRoundOnTheTerminal(t *testing.T) {
	needTmux(t)
	if testing.Short() {
		t.Skip("a whole visit takes a while")
	}
	t.Parallel()
	sit, dir, data := situations[0], t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "here.site.toml"), siteNow(t, sit.hour), 0o600))
	term := openTerminal(t, 80, 24, dir, []string{"AMPWALK_DATA=" + data}, program(t))
	term.waitFor("Begin a visit", "here.site.toml")
	term.enter("1")
	term.waitFor("Begin a quick round")
	term.enter("2")
	term.waitFor("Who is visiting?")
	term.enter("A. Visitor")
	short(t, term.play(sit.person()))
	term.waitFor("Everything works as designed")
	term.keys("q")
	assert.Equal(t, "0", term.exit())
	assert.Contains(t, term.everything(), "A full visit would")
	items, err := record.List(data)
	require.NoError(t, err)
	require.Len(t, items, 1)
	assert.True(t, items[0].Finished)
	assert.Equal(t, visiting.Quick, items[0].Depth)
}

// The same line by line, from the first question to the summary.
func TestQuickRoundLineByLine(t *testing.T) {
	if testing.Short() {
		t.Skip("a whole visit takes a while")
	}
	t.Parallel()
	sit := situations[0]
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(site.DemoTOML()), StartedAt: sit.begin(), Depth: visiting.Quick}, nowhere{})
	require.NoError(t, err)
	var text strings.Builder
	done, err := plain.Run(plain.Options{
		Visit: v, Infer: belief.Infer, Now: func() time.Time { return sit.begin() },
		Summary: func() string { return summary.OfVisit(v).Text() },
		In:      &pipe{person: sit.person(), visit: v}, Out: &text,
	})
	require.NoError(t, err)
	require.True(t, done)
	var steps []procedure.Step
	for _, a := range v.Answers() {
		s, _ := v.Procedure().Step(a.Step)
		steps = append(steps, s)
	}
	short(t, steps)
	_, end, found := strings.Cut(text.String(), "VISIT SUMMARY")
	require.True(t, found)
	assert.Contains(t, strings.Join(strings.Fields(end), " "), "A full visit would")
	sit.check(t, end)
}
