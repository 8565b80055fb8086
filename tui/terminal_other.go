//go:build !unix

package tui

import (
	"os"

	tea "github.com/charmbracelet/bubbletea"
)

// stoppable is false: no shell here brings a stopped program back.
func stoppable() bool { return false }

// show runs m. Here the library knows best what the console wants.
func show(m model, _, _ *os.File, options []tea.ProgramOption) (model, error) {
	return byLibrary(m, options)
}
