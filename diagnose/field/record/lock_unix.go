//go:build unix

package record

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lock keeps other programs from opening f for writing; the system lets go of
// it when f is closed or the program dies, so no lock is ever left behind.
func lock(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return ErrLocked
	}
	return err
}
