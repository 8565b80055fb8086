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

// Whatever a mail program or a stranger made of a journal, what is taken from it is whole,
// is the same once more, and has an id that is no path.
func FuzzParse(f *testing.F) {
	var lines []string
	prev := ""
	for _, e := range entries() {
		line, hash, err := link(prev, e)
		require.NoError(f, err)
		lines, prev = append(lines, string(line)), hash
	}
	whole := strings.Join(lines, "")
	f.Add([]byte(whole))
	f.Add([]byte("\ufeff" + strings.ReplaceAll(whole, "\n", "\r\n")))
	f.Add([]byte(strings.ReplaceAll(whole, "\n", "\r")))
	up := entries()[0]
	up.Head.ID = "../../up"
	line, _, err := link("", up)
	require.NoError(f, err)
	f.Add([]byte(line))
	f.Fuzz(func(t *testing.T, data []byte) {
		c, err := Parse(data)
		if err != nil {
			return
		}
		require.True(t, IsID(c.Head().ID))
		require.Equal(t, len(c.Entries), len(c.Hashes))
		again, err := Parse(c.Bytes)
		require.NoError(t, err)
		require.NoError(t, again.Damage)
		require.Equal(t, c.Hashes, again.Hashes)
	})
}
