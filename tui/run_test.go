package tui

import (
	"bytes"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/exp/teatest"
	"github.com/muesli/termenv"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience is how long a test waits for what must come, on the slowest machine.
const patience = 2 * time.Minute

// One run through the real program: keys in, frames out, the way it was left.
func TestRunsAsAProgram(t *testing.T) {
	tm := teatest.NewTestModel(t, newModel(realVisits(&inMemory{}), rendererIn(termenv.Ascii)), teatest.WithInitialTermSize(80, 24))
	wait := func(text string) {
		t.Helper()
		teatest.WaitFor(t, tm.Output(), func(b []byte) bool { return bytes.Contains(b, []byte(text)) }, teatest.WithDuration(patience))
	}
	wait("Begin a visit")
	tm.Send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{'4'}})
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	wait("Copy it for another site")
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	wait("Who is visiting?")
	tm.Send(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("Ada")})
	tm.Send(tea.KeyMsg{Type: tea.KeyEnter})
	wait("[prepare]")
	tm.Send(tea.KeyMsg{Type: tea.KeyCtrlC})
	wait("Leave the visit?")
	tm.Send(tea.KeyMsg{Type: tea.KeyCtrlC})
	m, ok := tm.FinalModel(t, teatest.WithFinalTimeout(patience)).(model)
	require.True(t, ok)
	require.NotNil(t, m.visit)
	assert.Equal(t, "Ada", m.visit.Head().Who)
}

// Run itself, on streams that are no terminal.
func TestRunOnStreams(t *testing.T) {
	var out bytes.Buffer
	opt := options()
	opt.Input, opt.Output = bytes.NewBufferString("q"), &out
	exit, err := Run(opt)
	require.NoError(t, err)
	assert.Nil(t, exit.Visit)
	assert.Contains(t, out.String(), "\x1b[?1049h", "the alternate screen is used")
	assert.Contains(t, out.String(), "\x1b[?1049l", "and left")
}
