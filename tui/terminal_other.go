//go:build !unix

package tui

import (
	"os"

	tea "github.com/charmbracelet/bubbletea"
)

// show runs m. Here the library knows best what the console wants.
func show(m model, _, _ *os.File, options []tea.ProgramOption) (model, error) {
	return byLibrary(m, options)
}
