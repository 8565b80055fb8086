package tui

import (
	"io"
	"strings"

	"github.com/charmbracelet/x/ansi"
)

// A painter writes frames to a terminal as they come, only the lines that
// changed. The library's own renderer looks for a new frame by a timer, some
// hundred times a second while nothing happens, and lets a key wait for it.
type painter struct {
	out   io.Writer
	w     int      // columns
	lines []string // on the screen, nil if that is not known
}

// enter takes the terminal's other screen, without its cursor, and has pasted
// text marked as such.
func (p *painter) enter() {
	p.write(ansi.SetModeAltScreenSaveCursor + ansi.HideCursor + ansi.SetModeBracketedPaste)
	p.lines = nil
}

// leave gives the terminal back as it was.
func (p *painter) leave() {
	p.write(ansi.ResetModeBracketedPaste + ansi.ShowCursor + ansi.ResetModeAltScreenSaveCursor)
}

// resized says that the window has w columns now, whatever it shows.
func (p *painter) resized(w int) { p.w, p.lines = w, nil }

func (p *painter) paint(frame string) {
	lines := strings.Split(frame, "\n")
	var b strings.Builder
	if p.lines == nil {
		b.WriteString(ansi.EraseEntireScreen)
	}
	for y, line := range lines {
		if y < len(p.lines) && p.lines[y] == line {
			continue
		}
		b.WriteString(ansi.CursorPosition(1, y+1) + line)
		if ansi.StringWidth(line) < p.w { // else the last column would be erased
			b.WriteString(ansi.EraseLineRight)
		}
	}
	for y := len(lines); y < len(p.lines); y++ {
		b.WriteString(ansi.CursorPosition(1, y+1) + ansi.EraseLineRight)
	}
	p.lines = lines
	p.write(b.String())
}

// write hands text to the terminal. Where that fails the terminal is gone, and
// its end comes as a signal.
func (p *painter) write(text string) {
	if text != "" {
		_, _ = io.WriteString(p.out, text)
	}
}
