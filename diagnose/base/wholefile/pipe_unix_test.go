//go:build unix

package wholefile_test

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"ampwalk/diagnose/base/wholefile"
)

// What waits for a pipe waits for ever: nobody writes to this one.
func TestPipesAndDevicesAreNotOpened(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, unix.Mkfifo(pipe, 0o600))
	for _, name := range []string{pipe, "/dev/zero", "/dev/null"} {
		for _, flag := range []int{os.O_RDONLY, os.O_RDWR} {
			_, err := wholefile.Open(name, flag)
			require.ErrorIs(t, err, wholefile.ErrNotRegular, name)
		}
	}
}
