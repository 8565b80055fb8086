package record

import (
	"bytes"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Whatever becomes of the file of a visit under way: an entry that was let in stands in
// the file of the visit's name with all before it, and nothing of others is harmed.
func TestFileTakenAway(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("the system does not let go of a file that is open")
	}
	replace := func(t *testing.T, name string, data []byte) { // as programs do that keep folders the same
		require.NoError(t, os.WriteFile(name+".new", data, 0o600))
		require.NoError(t, os.Rename(name+".new", name))
	}
	other := []byte("another story\n")
	tests := []struct {
		name    string
		happens func(t *testing.T, name string)
		refused bool
	}{
		{"nothing", func(*testing.T, string) {}, false},
		{"removed", func(t *testing.T, name string) { require.NoError(t, os.Remove(name)) }, false},
		{"folder removed", func(t *testing.T, name string) { require.NoError(t, os.RemoveAll(filepath.Dir(name))) }, false},
		{"moved", func(t *testing.T, name string) { require.NoError(t, os.Rename(name, name+".old")) }, false},
		{"replaced by the same", func(t *testing.T, name string) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			replace(t, name, data)
		}, false},
		{"replaced by an older one", func(t *testing.T, name string) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			replace(t, name, data[:len(data)-100])
		}, false},
		{"cut short", func(t *testing.T, name string) { require.NoError(t, os.Truncate(name, 300)) }, false},
		{"emptied", func(t *testing.T, name string) { require.NoError(t, os.Truncate(name, 0)) }, false},
		{"replaced by another", func(t *testing.T, name string) { replace(t, name, other) }, true},
		{"written over", func(t *testing.T, name string) { require.NoError(t, os.WriteFile(name, other, 0o600)) }, true},
		{"gone on with elsewhere", func(t *testing.T, name string) {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			replace(t, name, append(data, other...))
		}, true},
		{"replaced and open elsewhere", func(t *testing.T, name string) {
			replace(t, name, nil)
			f, err := os.OpenFile(name, os.O_RDWR, 0)
			require.NoError(t, err)
			require.NoError(t, lock(f))
			t.Cleanup(func() { f.Close() })
		}, true},
	}
	all := entries()
	want := strings.Join(asText(t, all), "")
	for _, tt := range tests {
		for _, end := range []bool{false, true} {
			t.Run(tt.name+map[bool]string{true: " at the end"}[end], func(t *testing.T) {
				j, err := Create(filepath.Join(t.TempDir(), "visits"), headOf("Dry Ridge"))
				require.NoError(t, err)
				name := path(filepath.Dir(j.file.Name()), j.ID())
				n := len(all) - 2
				if end {
					n = len(all)
				}
				for _, e := range all[:n] {
					require.NoError(t, j.Append(e))
				}
				tt.happens(t, name)
				there, _ := os.ReadFile(name)
				goOn := func() error {
					if end {
						return j.Secure()
					}
					return j.Append(all[n])
				}
				err = goOn()
				if tt.refused {
					require.ErrorIs(t, err, ErrReplaced)
					if end {
						kept, err := os.ReadFile(name + ".kept")
						require.NoError(t, err)
						assert.Equal(t, want, string(kept))
					}
					assert.Contains(t, err.Error(), name)
					now, err := os.ReadFile(name)
					require.NoError(t, err)
					require.True(t, bytes.Equal(there, now), "what is not ours is left alone")
					require.NoError(t, os.Rename(name, name+".away"))
					require.NoError(t, goOn(), "as the message says")
				} else {
					require.NoError(t, err)
				}
				for _, e := range all[min(n+1, len(all)):] {
					require.NoError(t, j.Append(e))
				}
				data, err := os.ReadFile(name)
				require.NoError(t, err)
				assert.Equal(t, want, string(data))
				_, _, _, err = Open(filepath.Dir(name), j.ID())
				require.ErrorIs(t, err, ErrLocked, "no other program writes it")
				require.NoError(t, j.Close())
				j, _, damage, err := Open(filepath.Dir(name), j.ID())
				require.NoError(t, err)
				assert.Nil(t, damage)
				require.NoError(t, j.Close())
			})
		}
	}
}
