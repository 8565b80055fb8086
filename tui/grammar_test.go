package tui

import (
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
)

// Escape at the first question is the way back to the start screen; a visit without an
// answer is gone then.
func TestEscapeAtTheFirstQuestion(t *testing.T) {
	opt := realVisits(&inMemory{})
	var closed []*visiting.Visit
	opt.Close = func(v *visiting.Visit) ([]record.Item, error) {
		closed = append(closed, v)
		return []record.Item{{ID: "x", SiteName: "Stony Ford school"}}, nil
	}
	d := drive(nil, opt).press("4", "enter", "enter", "Ada", "enter")
	require.NotNil(t, d.m.visit)
	d.press("esc")
	require.Len(t, closed, 1)
	assert.Empty(t, closed[0].Answers())
	assert.Nil(t, d.m.visit)
	assert.True(t, showing(d, "Continue a visit"), d.m.View())
	assert.True(t, showing(d, "Stony Ford school"), "the list is read anew")
	d = drive(nil, opt).press("4", "enter", "enter", "Ada", "enter", "f10", "2", "enter")
	assert.Len(t, closed, 2, "and so from the question of F10")
	assert.False(t, d.quit)
}

// Numbers of two digits reach the tenth line and beyond, in a list to mark too.
func TestTwoDigits(t *testing.T) {
	items := lines(strings.Split("a b c d e f g h i j k l", " "))
	press := func(m menu, keys string) menu {
		for _, r := range keys {
			m, _ = m.update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune{r}})
		}
		return m
	}
	for keys, at := range map[string]int{"1": 0, "9": 8, "10": 9, "12": 11, "13": 2, "2": 1, "21": 0, "112": 1, "0": 0} {
		m := newMenu(items)
		assert.Equal(t, at, press(m, keys).at, keys)
	}
	for keys, marked := range map[string]string{"1": "1", "12": "12", "1,2": "1 2", "1,12": "1 12", "1 2": "1 2", "34": "3 4", "10": "10", "330": "", "120": ""} {
		assert.Equal(t, marked, strings.Join(press(newMarks(items, nil), keys).numbers(), " "), keys)
	}
}

// Keys mean the same on every screen: Escape on a wrong entry corrects it and goes nowhere,
// and what stands in a field is typed over.
func TestTheSameKeysEverywhere(t *testing.T) {
	v := answered(3)
	d := visitUnderWay(v, options()).press("abc", "enter")
	require.True(t, showing(d, "Problem:"))
	d.press("esc")
	assert.True(t, showing(d, "Voltage at the array terminals") && showing(d, "> abc_") && !showing(d, "Problem:"))

	d = describeDemo(&shelf{}, "array.module.imp_a").press("abc", "enter")
	require.True(t, showing(d, "Problem:"))
	d.press("esc")
	assert.True(t, showing(d, "Current at maximum power") && showing(d, "> abc_") && !showing(d, "Problem:"))

	d = describeDemo(&shelf{}, "name").press("Twin")
	assert.True(t, showing(d, "> Twin_"), "a text is typed over as a number is")
	assert.False(t, showing(d, "clinicTwin"))

	for _, underWay := range []*driver{visitUnderWay(answered(3), options()), describeDemo(&shelf{}, "load"), practising()} {
		underWay.press("f10")
		assert.False(t, underWay.quit, "F10 asks")
		assert.True(t, showing(underWay, "1 Continue"))
		was := underWay.m.View()
		underWay.press("esc")
		assert.NotEqual(t, was, underWay.m.View(), "Escape goes on")
		underWay.press("f10", "f10")
		assert.True(t, underWay.quit, "twice leaves")
	}
}
