package tui

import (
	"strings"

	"github.com/charmbracelet/bubbles/cursor"
	"github.com/charmbracelet/bubbles/textinput"
	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"ampwalk/diagnose/base/plaintext"
)

// A field is one line of text being typed. It draws its own caret, "_": a
// reversed cell would be lost without colour, and a blinking one costs a timer.
type field struct {
	input textinput.Model
	old   bool // what it holds was typed before: what is typed now takes its place
}

// longest is what a field takes [characters]; more is refused in words by its reader.
const longest = 400

func newField(text string) field {
	in := textinput.New()
	in.CharLimit = longest
	in.Cursor.SetMode(cursor.CursorStatic)
	in.KeyMap.Paste.SetEnabled(false) // it would start another program; the terminal's own paste works
	in.Focus()
	in.SetValue(plaintext.Clean(text))
	in.CursorEnd()
	return field{input: in}
}

// newAnswer is a field for an answer. One that it holds is typed anew as a whole; an arrow
// or a backspace changes it instead.
func newAnswer(text string) field {
	f := newField(text)
	f.old = f.text() != ""
	return f
}

func (f field) update(msg tea.KeyMsg) field {
	if f.old && msg.Type == tea.KeyRunes {
		f.input.SetValue("")
	}
	f.old = false
	f.input, _ = f.input.Update(msg) // a static cursor has no command
	return f
}

func (f field) text() string { return strings.TrimSpace(plaintext.Clean(f.input.Value())) }

// view is the text with its caret in a box of w columns, the part around the caret where
// it is longer.
func (f field) view(st styles, focused bool, w int) string {
	runes := []rune(f.input.Value())
	before := plaintext.Clean(string(runes[:f.input.Position()]))
	after := plaintext.Clean(string(runes[f.input.Position():]))
	mark := "  "
	if focused {
		mark, before = "> ", before+"_"
	}
	if room := w - len(mark); ansi.StringWidth(before) > room {
		before = ansi.TruncateLeft(before, ansi.StringWidth(before)-room+len(ellipsis), ellipsis)
	}
	text := pad(cut(before+after, w-len(mark)), w-len(mark))
	if !focused {
		return mark + text
	}
	return st.title.Render(mark) + st.field.Render(text)
}
