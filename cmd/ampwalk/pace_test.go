package main

import (
	"io"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// Only what infers after every answer has a pace of its own.
func TestPace(t *testing.T) {
	for _, tt := range []struct {
		args  string
		paced bool
	}{
		{"--plain", true}, {"practice --plain", true}, {"site new", true},
		{"visits", false}, {"site check x", false}, {"interpret --site x --readings x", false}, {"report", false}, {"practice list", false},
	} {
		paced := false
		a := &app{stdin: strings.NewReader(""), stdout: io.Discard, stderr: io.Discard, now: time.Now, infer: cheap, pace: func() { paced = true }, getenv: func(string) string { return "" }}
		a.run(append(strings.Fields(tt.args), dataIn(t, tt.args)...))
		assert.Equal(t, tt.paced, paced, tt.args)
	}
}

func dataIn(t *testing.T, args string) []string {
	if strings.HasPrefix(args, "interpret") || strings.HasPrefix(args, "site check") || args == "practice list" {
		return nil
	}
	return []string{"--data", t.TempDir()}
}

// What a person has said of the collector stays.
func TestPaceIsThePersons(t *testing.T) {
	percent, most := debug.SetGCPercent(100), debug.SetMemoryLimit(-1)
	defer func() { debug.SetGCPercent(percent); debug.SetMemoryLimit(most) }()
	for _, name := range []string{"GOGC", "GOMEMLIMIT"} {
		t.Run(name, func(t *testing.T) {
			t.Setenv("GOGC", "")
			t.Setenv("GOMEMLIMIT", "")
			t.Setenv(name, "1")
			paceOfInference()
			assert.Equal(t, most, debug.SetMemoryLimit(-1))
			was := debug.SetGCPercent(100)
			assert.Equal(t, 100, was)
		})
	}
	t.Setenv("GOGC", "")
	t.Setenv("GOMEMLIMIT", "")
	paceOfInference()
	assert.Equal(t, int64(memoryMost), debug.SetMemoryLimit(-1))
}
