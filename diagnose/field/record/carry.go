package record

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/visiting"
)

// ErrDiffers says that a visit of the same id is there and tells another story.
var ErrDiffers = datafile.Error(func() string { return words().Differs })

// ErrNotKept says that a visit could not be put into the folder: the fault is not the
// file's.
var ErrNotKept = datafile.Error(func() string { return words().NotKept })

// Taken says what came of taking in a visit.
type Taken int

// What can come of it.
const (
	TakenNew     Taken = iota + 1 // it was not here before
	TakenFurther                  // the visit here went on as the file goes on
	TakenSame                     // it was here already, whole
	TakenOlder                    // the visit here goes on further than the file
)

// Export writes the whole lines of a journal file to w: the visit, with its site
// file inside, in one file that [Import] takes in anywhere.
func Export(name string, w io.Writer) (*Damage, error) {
	data, err := readFile(name)
	if err != nil {
		return nil, err
	}
	k := check(data)
	if len(k.entries) == 0 {
		return nil, unreadable(name, k)
	}
	_, err = w.Write(data[:k.whole])
	return k.damage, err
}

// Import takes the visit of a file into dir. A visit that is here already goes on
// as the file does, if the file goes on from it; nothing that is here changes. The
// accept function says whether the entries make a visit. What of the file is
// damaged is left out and reported.
func Import(dir, name string, accept func([]visiting.Entry) error) (id string, taken Taken, damage *Damage, err error) {
	data, err := readFile(name)
	if err != nil {
		return "", 0, nil, err
	}
	data, k := checkCarried(data)
	if len(k.entries) == 0 {
		return "", 0, nil, unreadable(name, k)
	}
	id = k.entries[0].Head.ID
	if !idForm.MatchString(id) {
		return "", 0, nil, fmt.Errorf("%s: %w, not %q", name, ErrID, id)
	}
	if err := accept(k.entries); err != nil {
		return "", 0, nil, fmt.Errorf("%s: %w", name, err)
	}
	taken, err = takeIn(dir, id, data[:k.whole])
	if err != nil && !errors.Is(err, ErrDiffers) {
		err = fmt.Errorf("%s: %w: %w", name, ErrNotKept, err)
	}
	return id, taken, k.damage, err
}

// checkCarried reads a journal that may have been carried by a mail program,
// which ends lines in its own way, and gives its bytes as they were.
func checkCarried(data []byte) ([]byte, kept) {
	k := check(data)
	if k.damage == nil {
		return data, k
	}
	repaired := bytes.ReplaceAll(bytes.TrimPrefix(data, []byte("\ufeff")), []byte("\r\n"), []byte("\n"))
	if m := check(repaired); len(m.entries) > len(k.entries) {
		return repaired, m
	}
	return data, k
}

func takeIn(dir, id string, whole []byte) (taken Taken, err error) {
	f, isNew, err := openOrCreate(path(dir, id))
	if err != nil {
		return 0, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	return bring(f, isNew, whole)
}

// openOrCreate opens a journal for writing and locks it. Its folder is made if missing.
func openOrCreate(name string) (f *os.File, isNew bool, err error) {
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return nil, false, err
	}
	f, err = os.OpenFile(name, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o600)
	isNew = err == nil
	if errors.Is(err, os.ErrExist) {
		f, err = wholefile.Open(name, os.O_RDWR)
	}
	if err != nil {
		return nil, false, err
	}
	if err := lock(f); err != nil {
		return nil, false, errors.Join(err, f.Close())
	}
	return f, isNew, nil
}

// bring makes a locked file whole, if whole goes on from what is in it. If it fails, the
// file is as it was.
func bring(f *os.File, isNew bool, whole []byte) (taken Taken, err error) {
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return 0, err
	}
	here, err := wholefile.All(f, MaxSize)
	switch {
	case err != nil:
		return 0, err
	case bytes.Equal(here, whole):
		return TakenSame, nil
	case bytes.HasPrefix(here, whole):
		return TakenOlder, nil
	case !bytes.HasPrefix(whole, here):
		return 0, fmt.Errorf("%s: %w", f.Name(), ErrDiffers)
	}
	if _, err = f.WriteAt(whole[len(here):], int64(len(here))); err == nil {
		err = errors.Join(f.Sync(), wholefile.SyncFolder(filepath.Dir(f.Name())))
	}
	switch {
	case err != nil && isNew:
		return 0, errors.Join(err, os.Remove(f.Name()))
	case err != nil:
		return 0, errors.Join(err, f.Truncate(int64(len(here))))
	case isNew:
		return TakenNew, nil
	}
	return TakenFurther, nil
}
