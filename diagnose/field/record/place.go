package record

import (
	"errors"
	"fmt"
	"os"

	"ampwalk/diagnose/base/datafile"
)

// ErrReplaced says that the visit's file is not what this program wrote, and cannot be
// made so without harm to what another program put there.
var ErrReplaced = datafile.Error(func() string { return words().Replaced })

// Secure returns once the whole visit is in its place on the disk. It is for the end:
// where another file stands in that place, the visit is put beside it.
func (j *Journal) Secure() error {
	if j.err != nil {
		return j.err
	}
	err := j.secure(j.data)
	if !errors.Is(err, ErrReplaced) {
		return err
	}
	aside, err := setAside(j.file.Name(), ".kept", j.data)
	if err != nil {
		return fmt.Errorf(words().NotBeside, ErrReplaced, err)
	}
	return fmt.Errorf(words().Beside, ErrReplaced, aside, j.file.Name())
}

// secure makes the file hold data, in its place. A folder that is kept the same on several
// machines, or that somebody tidies up, may lose or replace a file while it is written;
// the system then goes on writing to one that no name leads to.
func (j *Journal) secure(data []byte) error {
	if j.inPlace(len(data)) {
		return nil
	}
	f, isNew, err := j.file, false, error(nil)
	if !j.named() {
		f, isNew, err = openOrCreate(j.file.Name())
	}
	var taken Taken
	if err == nil {
		taken, err = bring(f, isNew, data)
	}
	if errors.Is(err, ErrLocked) || errors.Is(err, ErrDiffers) || taken == TakenOlder {
		err = fmt.Errorf(words().MoveAway, ErrReplaced, j.file.Name())
	}
	if f == j.file || f == nil {
		return err
	}
	if err != nil {
		return errors.Join(err, f.Close())
	}
	_ = j.file.Close() // no name leads to it any more
	j.file = f
	return nil
}

// named reports whether the name of the file still leads to it.
func (j *Journal) named() bool {
	there, err := os.Stat(j.file.Name())
	ours, errOurs := j.file.Stat()
	return err == nil && errOurs == nil && os.SameFile(there, ours)
}

// inPlace reports whether the name leads to the file, and it has the size given.
func (j *Journal) inPlace(size int) bool {
	info, err := j.file.Stat()
	return err == nil && info.Size() == int64(size) && j.named()
}
