package plain

import (
	"errors"
	"fmt"
	"io"

	"ampwalk/diagnose/base/plaintext"
)

const usualWidth = 78 // columns

// A voice tells and hears line by line. What comes of files and people is made safe for
// the terminal.
type voice struct {
	in    typed
	out   io.Writer
	width int   // columns
	err   error // of writing out, or of reading what is typed
	quiet bool  // do not show the question again
	left  bool  // the person leaves
}

// newVoice is a voice for lines of width columns, 0 for the usual ones.
func newVoice(in io.Reader, out io.Writer, width int) *voice {
	if width <= 0 {
		width = usualWidth
	}
	return &voice{in: newTyped(in), out: out, width: width}
}

// read is the next line without anything that could act on a terminal; false where the
// input ends.
func (v *voice) read() (string, bool) {
	line, err := v.in.next(func(problem string) { v.sayf(words().Problem, problem) })
	if err != nil && !errors.Is(err, io.EOF) {
		v.err = err
	}
	return line, err == nil
}

// say prints a paragraph.
func (v *voice) say(text string) { v.indentedf("", "%s", text) }

func (v *voice) sayf(form string, args ...any) { v.indentedf("", form, args...) }

// indentedf prints a paragraph with a margin.
func (v *voice) indentedf(margin, form string, args ...any) {
	for _, line := range plaintext.Wrap(fmt.Sprintf(form, args...), v.width-len(margin)) {
		v.print(margin + line)
	}
}

func (v *voice) print(line string) { v.block(line + "\n") }

func (v *voice) block(text string) {
	if v.err != nil {
		return
	}
	_, v.err = io.WriteString(v.out, text)
}
