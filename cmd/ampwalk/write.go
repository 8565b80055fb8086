package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"ampwalk/diagnose/base/wholefile"
)

// write fills a file; one that is there already is replaced only if that was said,
// and then as a whole or not at all.
func write(path string, over bool, fill func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist) && !over:
		return fmt.Errorf(words().Wrong.FileThere, path)
	case errors.Is(err, fs.ErrExist):
		return replace(path, 0o644, fill)
	case err != nil:
		return err
	}
	return finishNew(f, fill)
}

// finishNew is [finish] of a file that has its name already.
func finishNew(f *os.File, fill func(io.Writer) error) error {
	if err := finish(f, fill); err != nil {
		return err
	}
	return wholefile.SyncFolder(filepath.Dir(f.Name()))
}

// replace fills a file beside path and then puts it in its place, so that a torn write
// harms nothing.
func replace(path string, mode fs.FileMode, fill func(io.Writer) error) error {
	f, err := os.CreateTemp(filepath.Dir(path), unfinishedFile)
	if err != nil {
		return err
	}
	if err := finish(f, func(w io.Writer) error { return errors.Join(f.Chmod(mode), fill(w)) }); err != nil {
		return err
	}
	own, err := os.Stat(f.Name())
	if err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	forgotten(filepath.Dir(path), own.ModTime())
	return wholefile.SyncFolder(filepath.Dir(path))
}

// forgotten takes away what programs that were killed have left half written in a folder,
// an hour before now or earlier: what is younger may still be being written.
func forgotten(folder string, now time.Time) {
	files, _ := os.ReadDir(folder) // what cannot be read is not tidied
	for _, f := range files {
		if ours, _ := filepath.Match(unfinishedFile, f.Name()); !ours || !f.Type().IsRegular() {
			continue
		}
		if info, err := f.Info(); err == nil && info.ModTime().Before(now.Add(-time.Hour)) {
			_ = os.Remove(filepath.Join(folder, f.Name())) // it harms nobody
		}
	}
}

// unfinishedFile is the names of files that are being written.
const unfinishedFile = ".ampwalk-*"

// finish writes a new file whole, or takes it away again.
func finish(f *os.File, fill func(io.Writer) error) error {
	w := bufio.NewWriter(f)
	err := fill(w)
	if err == nil {
		err = w.Flush()
	}
	if err == nil {
		err = f.Sync()
	}
	if shut := f.Close(); err == nil {
		err = shut
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// holding fills a file with text.
func holding(text []byte) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := w.Write(text)
		return err
	}
}

// manyFiles bounds the search for a free name.
const manyFiles = 1000

// writeNew writes text to a new file: of the names for 1, 2 and so on the first that
// no file has.
func writeNew(text []byte, mode fs.FileMode, name func(n int) string) (string, error) {
	for n := 1; n <= manyFiles; n++ {
		f, err := os.OpenFile(name(n), os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
		if errors.Is(err, fs.ErrExist) {
			continue
		}
		if err != nil {
			return "", err
		}
		return f.Name(), finishNew(f, holding(text))
	}
	return "", fmt.Errorf(words().Wrong.FilesThere, manyFiles, name(1))
}

// writeBeside writes a new file in folder: name, or name-2, name-3 where files of
// these names are there.
func writeBeside(folder, name, suffix string, text []byte) (string, error) {
	return writeNew(text, 0o644, func(n int) string {
		if n == 1 {
			return filepath.Join(folder, name+suffix)
		}
		return filepath.Join(folder, fmt.Sprintf("%s-%d%s", name, n, suffix))
	})
}
