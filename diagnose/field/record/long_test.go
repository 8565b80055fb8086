package record

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
)

// A visit takes answers up to a number that no real one comes near, and can be ended then.
// A longer file is refused as a whole and stays as it is.
func TestLongestVisit(t *testing.T) {
	dir := t.TempDir()
	note := entries()[4]
	file := func(id string, lines int) []byte {
		var text bytes.Buffer
		w := NewWriter(&text)
		h := headOf("Dry Ridge")
		h.ID = id
		require.NoError(t, w.Append(visiting.Entry{Head: &h}))
		for range lines - 1 {
			require.NoError(t, w.Append(note))
		}
		require.NoError(t, os.WriteFile(path(dir, id), text.Bytes(), 0o600))
		return text.Bytes()
	}
	file("long", MaxLines-roomToEnd-1)
	j, list, damage, err := Open(dir, "long")
	require.NoError(t, err)
	require.Nil(t, damage)
	require.Len(t, list, MaxLines-roomToEnd-1)
	require.NoError(t, j.Append(note))
	require.ErrorIs(t, j.Append(note), ErrTooLong)
	require.NoError(t, j.Append(entries()[6]), "it can be ended")
	require.NoError(t, j.Close())
	_, damage, err = Read(path(dir, "long"))
	require.NoError(t, err)
	require.Nil(t, damage)

	longer := file("longer", MaxLines+1)
	_, _, _, err = Open(dir, "longer")
	require.ErrorIs(t, err, ErrTooLong)
	_, _, err = Read(path(dir, "longer"))
	require.ErrorIs(t, err, ErrTooLong)
	_, err = Parse(longer)
	require.ErrorIs(t, err, ErrTooLong)
	_, _, _, err = Import(t.TempDir(), path(dir, "longer"), func([]visiting.Entry) error { return nil })
	require.ErrorIs(t, err, ErrTooLong)
	text, err := os.ReadFile(path(dir, "longer"))
	require.NoError(t, err)
	assert.Equal(t, longer, text)
	assert.False(t, Look(dir, "longer").Readable())
}
