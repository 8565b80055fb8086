package ledger

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"testing"

	"github.com/klauspost/compress/zstd"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
)

// Whatever a file of a stick holds, it is understood as one thing, or quarantined with a
// reason and its bytes, or no business of the ledger's.
func FuzzUnpack(f *testing.F) {
	names := []string{"a" + record.Suffix, "a" + review.Suffix, practiceName, "letter.txt"}
	f.Add([]byte(`{"sha256":"","entry":{}}`+"\n"), 0)
	f.Add([]byte(`{"who":"=x()","at":"2026-11-20T10:30:00Z"}`+"\n"), 2)
	f.Add([]byte("\ufeff"+`{"sha256":"`+"\x00\n"), 3)
	f.Add([]byte(`{"sha256":"0","review":{"visit":"../../up"}}`+"\n"), 1)
	packer, err := zstd.NewWriter(nil)
	require.NoError(f, err)
	l := &Ledger{now: clock, packer: packer}
	f.Fuzz(func(t *testing.T, data []byte, name int) {
		s := Source{Name: names[uint(name)%uint(len(names))], Open: func() (io.ReadCloser, error) { return io.NopCloser(bytes.NewReader(data)), nil }}
		p, err := l.unpack(s, now)
		require.NoError(t, err)
		sum := sha256.Sum256(data)
		require.Equal(t, hex.EncodeToString(sum[:]), p.hash)
		kinds := 0
		for _, is := range []bool{p.visit != nil, p.reviews != nil, p.practice != nil, p.reason != ""} {
			if is {
				kinds++
			}
		}
		require.LessOrEqual(t, kinds, 1)
		if p.visit != nil {
			require.True(t, record.IsID(p.id))
			require.Equal(t, p.id, p.visit.digest.ID)
		}
		if p.reason != "" {
			require.NotNil(t, p.packed)
		}
	})
}
