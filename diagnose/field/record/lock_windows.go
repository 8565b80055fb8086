package record

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lock keeps other programs from opening f for writing; the system lets go of
// it when f is closed or the program dies, so no lock is ever left behind. The
// locked byte lies beyond any journal, so that others can still read it.
func lock(f *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	err := windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, &windows.Overlapped{OffsetHigh: 1 << 30})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return ErrLocked
	}
	return err
}
