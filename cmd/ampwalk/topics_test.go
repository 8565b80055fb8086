package main

import (
	"maps"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Each topic is listed by help, printed as it stands, and has room in 80 columns. No command
// has its name. Package diagnose holds its sentences to their length.
func TestTopics(t *testing.T) {
	assert.ElementsMatch(t, topicNames, slices.Collect(maps.Keys(topics())))
	code, list, _ := told("help")
	assert.Equal(t, exitDone, code)
	for _, name := range topicNames {
		code, out, problem := told("help", name)
		assert.Equal(t, exitDone, code, name)
		assert.Empty(t, problem, name)
		assert.Equal(t, topics()[name].Text, out, name)
		assert.Greater(t, len(strings.Fields(out)), 100, name)
		for line := range strings.Lines(out) {
			assert.LessOrEqual(t, len(strings.TrimSuffix(line, "\n")), usageColumns, line)
		}
		assert.Contains(t, list, "  ampwalk help "+name+" ")
		for _, c := range everyCommand() {
			assert.NotEqual(t, name, c.Name())
		}
	}
	code, _, problem := told("help", "volt")
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, problem, `"volt"`)
	_, offered, _ := told("__complete", "help", "")
	assert.Contains(t, offered, "volts\t"+topics()["volts"].Short)
}
