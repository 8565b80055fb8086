//go:build unix

package tui

import (
	"bytes"
	"io"
	"os"
	"strings"
	"testing"
	"testing/iotest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Keys and pastes that are not too long pass as they are; of a longer one the beginning is
// taken, and what comes after it. It does not matter how the terminal cuts it.
func TestKeyboard(t *testing.T) {
	long := strings.Repeat("p", mostPasted)
	paste := func(text string) string { return pasteBegins + text + pasteEnds }
	tests := []struct{ name, typed, want string }{
		{"keys", "abc\x1b[A\x1b[2", "abc\x1b[A\x1b[2"},
		{"a paste", "a" + paste("text") + "b", "a" + paste("text") + "b"},
		{"just not too long", paste(long) + "b", paste(long) + "b"},
		{"too long", paste(long+"q\x1b[201q") + "b\r", paste(long) + "b\r"},
		{"another after it", paste(long+long) + paste("second") + paste(long+"x") + "c", paste(long) + paste("second") + paste(long) + "c"},
		{"escapes only", paste(strings.Repeat("\x1b", 2*mostPasted)) + "b", paste(strings.Repeat("\x1b", mostPasted)) + "b"},
		{"without end", pasteBegins + long + long, pasteBegins + long},
		{"end without beginning", pasteEnds + strings.Repeat("k", 2*mostPasted), pasteEnds + strings.Repeat("k", 2*mostPasted)},
	}
	for _, tt := range tests {
		for name, cut := range map[string]func(io.Reader) io.Reader{"whole": func(r io.Reader) io.Reader { return r }, "by bytes": iotest.OneByteReader, "by halves": iotest.HalfReader} {
			t.Run(tt.name+", "+name, func(t *testing.T) {
				r, w, err := os.Pipe()
				require.NoError(t, err)
				go func() {
					_, _ = io.CopyBuffer(struct{ io.Writer }{w}, cut(strings.NewReader(tt.typed)), make([]byte, 256))
					_ = w.Close()
				}()
				k := &keyboard{File: r}
				var got bytes.Buffer
				_, err = io.CopyBuffer(struct{ io.Writer }{&got}, readerFunc(func(p []byte) (int, error) {
					n, err := k.Read(p)
					assert.True(t, n > 0 || err != nil, "nothing was read: the library would go through the paste again")
					return n, err
				}), make([]byte, 256))
				require.NoError(t, err)
				assert.True(t, tt.want == got.String(), "%d bytes, want %d", got.Len(), len(tt.want))
			})
		}
	}
}

type readerFunc func(p []byte) (int, error)

func (f readerFunc) Read(p []byte) (int, error) { return f(p) }
