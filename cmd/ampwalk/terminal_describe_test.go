package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"ampwalk/diagnose/field/record"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A person describes a site from the start screen, with half of the module's
// label unreadable, has it checked, and begins a visit there.
func TestTerminalDescribesASite(t *testing.T) {
	needTmux(t)
	t.Parallel()
	dir := t.TempDir()
	term := openTerminal(t, 80, 24, dir, quick(t.TempDir()), os.Args[0])
	term.waitFor("Begin a visit, or look at a site", "2 Describe a new site")
	term.enter("2")
	term.waitFor("What is the site called?")
	term.enter("Quarry Bend store")
	term.waitFor("question 2 of 12")
	term.keys("F8") // every question
	for _, s := range []struct{ title, answer string }{
		{"System voltage", "1"}, {"Kind of battery", "2"}, {"Capacity", "50"}, {"Blocks in series", ""}, {"Cells in each block", ""}, {"Strings in parallel", ""},
		{"Fuse of the battery", "20"}, {"Battery cable, length one way", "0,8 m"}, {"Battery cable, cross-section", ""}, {"Battery installed", "2024-03"},
		{"Maximum power, Pmp", "50"}, {"Voltage at maximum power, Vmp", "18"}, {"Current at maximum power, Imp", "2,78"},
		{"Open-circuit voltage, Voc", ""}, {"Short-circuit current, Isc", ""}, {"Cells in series", "36"}, {"Bypass diodes", ""},
		{"Isc changes for each degree by", ""}, {"Voc changes for each degree by", ""}, {"Nominal operating cell temperature", ""},
		{"Modules in series in each string", "1"}, {"Strings in parallel", "2"}, {"Fuse or breaker of the array", "10"},
		{"Array cable, length one way", "8"}, {"Array cable, cross-section", "4"}, {"Array installed", ""},
		{"How it regulates", "1"}, {"Rated current", "10"}, {"Highest array voltage", ""}, {"Absorption set-point", ""}, {"Float set-point", ""},
		{"Temperature compensation for each 2 V cell", ""}, {"Loads are cut off below", ""}, {"Loads come back above", ""}, {"Equalising charge, for flooded batteries only", ""}, {"Own use", ""},
		{"Loads on the controller's load output?", "1"},
		{"Is there a display or indicator of the controller?", "1"}, {"Indicator 1 - Indicator", "left lamp"}, {"Is there a way this indicator can look?", "1"},
		{"look 1 - How it looks", "blinks green"}, {"What its manual says it means", "3"}, {"Is there another way this indicator can look?", "2"},
		{"Is there another display or indicator of the controller?", "2"},
		{"Is there a load?", "1"}, {"Load 1 - Load", "lamps"}, {"Power", "18"}, {"Hours a day", "5"}, {"Priority", ""},
		{"When it is used", ""}, {"Where it takes its current from", ""}, {"How it draws its power", ""}, {"Is there another load?", "2"},
		{"Inverter: where is it connected?", ""}, {"Second charger: its current", ""}, {"Which pole of the battery is joined to earth", ""},
		{"Fuse of the loads", "10"}, {"Load cable, length one way", "12"}, {"Load cable, cross-section", "2.5"},
		{"Latitude", "-12.6"}, {"Longitude", "34.1"}, {"Local time minus UTC", ""}, {"Tilt of the array", ""}, {"Bearing the array faces", ""},
		{"Peak sun hours a day", ""}, {"A closed kit: does it lock", ""},
	} {
		term.wait(s.title, func(screen string) bool { return strings.Contains(asking(screen), s.title) })
		if s.answer != "" {
			term.tmux("send-keys", "-l", "--", s.answer)
		}
		term.keys("Enter")
	}
	term.waitFor("complete, 19 assumed", "F9>Done")
	term.keys("Enter")
	term.waitFor("Quarry Bend store", "Last visit  none known here", "Assumed", "Begin a visit")

	file := filepath.Join(dir, "quarry-bend-store.site.toml")
	var out bytes.Buffer
	a := &app{stdin: strings.NewReader(""), stdout: &out, stderr: &out, now: time.Now, infer: cheap, getenv: func(string) string { return "" }}
	assert.Equal(t, exitDone, a.run([]string{"site", "check", file}), "%s", &out)
	assert.Contains(t, out.String(), "good: Quarry Bend store, 12 V")
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(text), "voc_v = 22.1  # assumed, give or take 3 %")
	assert.Contains(t, string(text), `label = "left lamp"`)
	assert.Contains(t, string(text), "look = \"blinks green\"  # How it looks\nmeans = \"charging\"")

	term.keys("Enter")
	term.waitFor("Who is visiting?")
	term.enter("A. Visitor")
	term.waitFor("Quarry Bend store", "[prepare]", "Permission")
	term.keys("F10")
	term.waitFor("Leave the visit?")
	term.keys("F10")
	assert.Equal(t, "0", term.exit())
}

// A new user, by keys alone and without the manual, describes a site in twelve questions,
// begins a quick round there, and goes back to the start screen, where nothing is left of
// a visit without an answer.
func TestTerminalTwelveQuestions(t *testing.T) {
	needTmux(t)
	t.Parallel()
	data := t.TempDir()
	term := openTerminal(t, 80, 24, t.TempDir(), quick(data), os.Args[0])
	term.waitFor("2 Describe a new site")
	term.enter("2")
	term.waitFor("What is the site called?")
	term.enter("Mill Bridge")
	for i, typed := range []string{"2", "2", "120", "250", "37.5", "1 2", "3", "1", "13", "lamps 18 5; radio 6 W 6 h", "12.6 S 34.1 E"} {
		term.waitFor(fmt.Sprintf("question %d of 12", i+2))
		term.enter(typed)
	}
	term.waitFor("complete, ", "F9>Done")
	term.keys("Enter")
	term.waitFor("Begin a quick round")
	term.enter("2")
	term.waitFor("Who is visiting?")
	term.enter("A. Visitor")
	term.waitFor("Mill Bridge", "[prepare]", "Permission")
	term.keys("Escape")
	term.waitFor("Begin a visit, or look at a site", "Mill Bridge")
	items, err := record.List(data)
	require.NoError(t, err)
	assert.Empty(t, items)
	term.keys("q")
	assert.Equal(t, "0", term.exit())
}

// asking is the line of the screen that asks.
func asking(screen string) string {
	for line := range strings.SplitSeq(screen, "\n") {
		if strings.Contains(line, " - ") {
			return line
		}
	}
	return ""
}
