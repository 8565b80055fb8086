// Package wholefile reads whole files that a person or a stranger put somewhere, and
// bounds what that can cost: a pipe that nobody writes to is not waited for, and a file
// that is too large for its kind is not read.
//
// Start with [Read] and [Open].
package wholefile

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"runtime"

	"ampwalk/diagnose/base/datafile"
)

// Largest sizes by the kind of file [bytes], each far above any real one. They are
// judgement.
const (
	Form    = 256 << 10 // what a person writes: a site, readings, a scenario, names, a key
	Journal = 64 << 20  // what the program writes: a visit, its reviews, practices
)

// ErrNotRegular says that a name leads to a folder, a device or a pipe.
var ErrNotRegular = datafile.Error(func() string { return words().NotRegular })

// A TooLargeError says that a file is larger than its kind may be.
type TooLargeError struct{ Most int64 } // bytes

func (e TooLargeError) Error() string {
	size := fmt.Sprintf(words().Kilobytes, e.Most>>10)
	if e.Most >= 1<<20 {
		size = fmt.Sprintf(words().Megabytes, e.Most>>20)
	}
	return fmt.Sprintf(words().TooLarge, size)
}

// Open opens the regular file that name leads to, with the flags of [os.OpenFile] but
// O_CREATE. The errors are [fs.PathError].
func Open(name string, flag int) (*os.File, error) {
	info, err := os.Stat(name) // before: opening a pipe waits for its other end
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &fs.PathError{Op: "open", Path: name, Err: ErrNotRegular}
	}
	return os.OpenFile(name, flag, 0)
}

// Read is all of the regular file that name leads to, of at most so many bytes. The
// errors are [fs.PathError].
func Read(name string, most int64) ([]byte, error) {
	f, err := Open(name, os.O_RDONLY)
	if err != nil {
		return nil, err
	}
	defer f.Close() // read only: nothing to lose
	return All(f, most)
}

// All is the rest of an open file, of at most so many bytes.
func All(f *os.File, most int64) ([]byte, error) {
	if info, err := f.Stat(); err == nil && info.Size() > most {
		return nil, &fs.PathError{Op: "read", Path: f.Name(), Err: TooLargeError{most}}
	}
	data, err := io.ReadAll(io.LimitReader(f, most+1))
	if err == nil && int64(len(data)) > most { // it grew, or has no size, as those of /proc
		err = &fs.PathError{Op: "read", Path: f.Name(), Err: TooLargeError{most}}
	}
	return data, err
}

// SyncFolder makes the names of the files in a folder durable, where the system can: a
// file that is on the disk without its name is lost.
func SyncFolder(name string) error {
	if runtime.GOOS == "windows" { // a folder cannot be flushed there
		return nil
	}
	d, err := os.Open(name)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}
