package record

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// whole is the journal of a whole visit, with the lengths at which its lines end.
func whole(t *testing.T) (data []byte, ends map[int]int) {
	t.Helper()
	if testing.Short() {
		t.Skip("a whole visit takes some seconds")
	}
	data, err := os.ReadFile(filepath.Join("testdata", "whole"+Suffix))
	require.NoError(t, err)
	require.Nil(t, check(data).damage)
	ends = map[int]int{0: 0}
	for i, b := range data {
		if b == '\n' {
			ends[i+1] = len(ends)
		}
	}
	require.Greater(t, len(ends), 50)
	return data, ends
}

// lineStart is where the line of byte i begins.
func lineStart(data []byte, i int) int { return bytes.LastIndexByte(data[:i], '\n') + 1 }

func TestWholeVisitTruncatedAtEveryByte(t *testing.T) {
	data, ends := whole(t)
	for n := range data {
		k := check(data[:n])
		require.Equal(t, lineStart(data, n), k.whole, "cut at %d", n)
		require.Len(t, k.entries, ends[k.whole], "cut at %d", n)
		require.Equal(t, k.whole == n, k.damage == nil, "cut at %d", n)
	}
}

// A flip of any bit is found in its line; what lies before is what it was.
func TestWholeVisitEveryByteFlipped(t *testing.T) {
	data, ends := whole(t)
	for i := range data {
		data[i] ^= 1 << (i % 8)
		k := check(data)
		data[i] ^= 1 << (i % 8)
		require.NotNil(t, k.damage, "byte %d", i)
		require.Equal(t, lineStart(data, i), k.whole, "byte %d", i)
		require.Len(t, k.entries, ends[k.whole], "byte %d", i)
	}
}
