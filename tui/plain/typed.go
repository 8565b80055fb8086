package plain

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"

	"ampwalk/diagnose/base/plaintext"
)

// longestLine is what one answer may have [bytes]; a pipe that brings more is
// not a person.
const longestLine = 64 << 10

// typed is what a person types, line by line.
type typed struct{ in *bufio.Reader }

func newTyped(in io.Reader) typed { return typed{bufio.NewReaderSize(in, longestLine)} }

// next is the next line without anything that could act on a terminal. The error is
// [io.EOF] where the input ends. A line that is too long is read over and handed to
// tooLong as a problem.
func (t typed) next(tooLong func(string)) (string, error) {
	for {
		line, err := t.in.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			for errors.Is(err, bufio.ErrBufferFull) {
				_, err = t.in.ReadSlice('\n')
			}
			tooLong(fmt.Sprintf(words().LongLine, longestLine>>10))
			if err == nil {
				continue
			}
			line = nil
		}
		if err != nil && (len(line) == 0 || !errors.Is(err, io.EOF)) {
			return "", err
		}
		return strings.TrimSpace(plaintext.Clean(string(line))), nil // what ends without a line feed is a line too
	}
}
