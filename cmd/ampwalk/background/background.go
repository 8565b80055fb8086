// Package background answers bubbletea's start-up question, the terminal's
// background colour, before it is asked, so that the program never waits on a
// silent terminal. Its import path must sort before
// github.com/charmbracelet/bubbletea; a test of the command checks the order.
package background

import "github.com/charmbracelet/lipgloss"

func init() { lipgloss.SetHasDarkBackground(true) }
