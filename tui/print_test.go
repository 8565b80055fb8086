package tui

import (
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
)

// One key on the last screen prints; where the files are, or what went wrong, is said.
func TestPrintsFromTheLastScreen(t *testing.T) {
	tests := []struct {
		name  string
		err   error
		shows string
	}{
		{"written", nil, "Written to a.pdf and a-caretaker.pdf"},
		{"not written", errDisk, errDisk.Error()},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			asked := 0
			opt := options()
			opt.Print = func(id string) ([]string, error) {
				asked++
				return []string{"a.pdf", "a-caretaker.pdf"}, tt.err
			}
			d := visitUnderWay(answered(6), opt)
			assert.Contains(t, ansi.Strip(d.m.View()), "F6 Print as PDF")
			d.hold = true
			d.press("f6")
			assert.Contains(t, ansi.Strip(d.m.View()), "Please wait")
			assert.Zero(t, asked, "the screen does not wait")
			d.release()
			assert.Equal(t, 1, asked)
			assert.Contains(t, ansi.Strip(d.m.View()), tt.shows)
		})
	}
	assert.NotContains(t, ansi.Strip(visitUnderWay(answered(6), options()).m.View()), "Print", "where it is not offered")
}
