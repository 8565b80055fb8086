package hashchain

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The hashes were made by another program:
//
//	printf '%s' '"n":1}' | sha256sum
//	printf '%s' 'FIRST HASH"n":2}' | sha256sum
func TestLink(t *testing.T) {
	one, first := Link("", []byte(`{"n":1}`))
	two, second := Link(first, []byte(`{"n":2}`))
	assert.Equal(t, "78d03e61a2d603d605a7b20f01b726a80408452cfb625721b20899ba1d9c42d0", first)
	assert.Equal(t, "186677ae67a37aa6c3b4577a8e795d4d81baace89f87a5496cba465ac249f410", second)
	for _, l := range []struct {
		prev, object, hash string
		line               []byte
	}{{"", `{"n":1}`, first, one}, {first, `{"n":2}`, second, two}} {
		object, hash, err := Unlink(l.prev, l.line)
		require.NoError(t, err)
		assert.Equal(t, l.object, string(object))
		assert.Equal(t, l.hash, hash)
		assert.Equal(t, l.hash, Hash(l.line))
	}
}

// A changed byte, a line in another's place and a line cut short are found.
func TestUnlinkFindsEveryChange(t *testing.T) {
	line, hash := Link("", []byte(`{"kind":"accept"}`))
	for i := range line {
		line[i] ^= 1 << (i % 8)
		_, _, err := Unlink("", line)
		line[i] ^= 1 << (i % 8)
		require.ErrorIs(t, err, ErrChanged, "byte %d", i)
		_, _, err = Unlink("", line[:i])
		require.ErrorIs(t, err, ErrChanged, "cut at %d", i)
	}
	_, _, err := Unlink(hash, line)
	require.ErrorIs(t, err, ErrChanged)
}
