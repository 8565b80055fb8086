package record

import (
	"bytes"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// What writes to anything writes the bytes of the journal on disk, and each line's
// hash vouches for the lines up to it.
func TestWriterAndParse(t *testing.T) {
	_, _, onDisk := write(t, entries())
	var out bytes.Buffer
	w := NewWriter(&out)
	for _, e := range entries() {
		require.NoError(t, w.Append(e))
	}
	assert.Equal(t, string(onDisk), out.String())

	c, err := Parse(onDisk)
	require.NoError(t, err)
	require.NoError(t, c.Damage)
	assert.Equal(t, onDisk, c.Bytes)
	assert.Equal(t, "Dry Ridge", c.Head().SiteName)
	require.Len(t, c.Hashes, len(c.Entries))
	lines := bytes.SplitAfter(onDisk, []byte("\n"))
	for n := range c.Hashes {
		part, err := Parse(bytes.Join(lines[:n+1], nil))
		require.NoError(t, err)
		assert.Equal(t, c.Hashes[n], part.Fingerprint())
	}

	mailed, err := Parse([]byte(strings.ReplaceAll(string(onDisk), "\n", "\r\n")))
	require.NoError(t, err)
	assert.Equal(t, c, mailed)

	torn, err := Parse(onDisk[:len(onDisk)-3])
	require.NoError(t, err)
	require.ErrorIs(t, torn.Damage, errTorn)
	assert.Equal(t, c.Hashes[:len(c.Hashes)-1], torn.Hashes)
}

func TestParseRefuses(t *testing.T) {
	_, err := Parse(nil)
	require.ErrorIs(t, err, ErrUnreadable)
	list := entries()
	list[0].Head.ID = "../up"
	_, err = Parse([]byte(strings.Join(asText(t, list), "")))
	require.ErrorIs(t, err, ErrID)
}
