package tui

import (
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
)

func TestPainterWritesOnlyWhatChanged(t *testing.T) {
	var out strings.Builder
	p := &painter{out: &out}
	p.resized(6)
	wrote := func(frame string) string {
		out.Reset()
		p.paint(frame)
		return out.String()
	}
	first := wrote("one\n\x1b[1mtwo\x1b[0m\nthirty")
	assert.True(t, strings.HasPrefix(first, ansi.EraseEntireScreen), "what was there before is not known")
	assert.Equal(t, "onetwothirty", ansi.Strip(first))
	assert.True(t, strings.HasSuffix(first, "thirty"), "erasing after a full line would take its last column")
	assert.Empty(t, wrote("one\n\x1b[1mtwo\x1b[0m\nthirty"), "the same frame costs nothing")
	assert.Equal(t, ansi.CursorPosition(1, 2)+"2"+ansi.EraseLineRight, wrote("one\n2\nthirty"))
	assert.Equal(t, ansi.CursorPosition(1, 3)+ansi.EraseLineRight, wrote("one\n2"), "a line too many goes")
	p.resized(6)
	assert.Equal(t, "one2", ansi.Strip(wrote("one\n2")), "after a new size all is written")

	out.Reset()
	p.enter()
	p.leave()
	assert.Contains(t, out.String(), "\x1b[?1049h") // ECMA-48 leaves it to xterm's private modes 1049, 25 and 2004
	assert.Contains(t, out.String(), "\x1b[?2004l\x1b[?25h\x1b[?1049l")
}
