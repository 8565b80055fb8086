package record

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/internal/hashchain"
)

// Whatever a file holds, what is taken from it is a whole journal by itself.
func FuzzCheck(f *testing.F) {
	var lines []string
	prev := ""
	for _, e := range entries() {
		line, hash, err := link(prev, e)
		require.NoError(f, err)
		lines, prev = append(lines, string(line)), hash
	}
	f.Add([]byte(strings.Join(lines, "")))
	f.Add([]byte(strings.Join(lines[:2], "") + lines[3]))
	f.Add([]byte(lines[0] + "\n"))
	empty, _ := hashchain.Link("", []byte("{}"))
	f.Add(append(empty, '\n'))
	f.Fuzz(func(t *testing.T, data []byte) {
		k := check(data)
		require.LessOrEqual(t, k.whole, len(data))
		require.Equal(t, k.whole == len(data), k.damage == nil)
		require.Equal(t, bytes.Count(data[:k.whole], []byte("\n")), len(k.entries))
		again := check(data[:k.whole])
		require.Nil(t, again.damage)
		require.Equal(t, k.entries, again.entries)
	})
}
