package tui

import (
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/field/procedure"
)

// Digits that come in one message count each, as those that come one by one.
func TestDigitsTypedFast(t *testing.T) {
	keys := func(s string) tea.KeyMsg { return tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(s)} }
	m, used := newMarks(procedure.Named("a", "b", "c"), nil).update(keys("13"))
	assert.True(t, used)
	assert.Equal(t, []string{"a", "c"}, m.chosen())
	m, used = m.update(keys("1"))
	assert.True(t, used)
	assert.Equal(t, []string{"c"}, m.chosen())
	none, used := m.update(keys("0"))
	assert.True(t, used)
	assert.Empty(t, none.chosen(), "0 is for none of them")
	assert.Equal(t, 3, none.at)
	assert.Equal(t, []string{"c"}, m.chosen(), "the menu before is as it was")
	_, used = m.update(keys("4"))
	assert.False(t, used)
	_, used = m.update(keys("x"))
	assert.False(t, used)
	_, used = newMenu(procedure.Named("a", "b")).update(keys("0"))
	assert.False(t, used, "one of a list has to be chosen")
	one, _ := newMenu(procedure.Named("a", "b")).update(keys("2"))
	assert.Equal(t, "b", one.item().ID)
}
