package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode"

	"ampwalk/diagnose/base/wholefile"
)

// newSitePath is the path of a file, not there yet, for a site of that name in
// the current folder.
func newSitePath(name string) string {
	base := strings.Join(strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	}), "-")
	if base == "" {
		base = "site"
	}
	const longest = 60
	if r := []rune(base); len(r) > longest {
		base = string(r[:longest])
	}
	path := base + siteSuffix
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
			return path
		}
		path = fmt.Sprintf("%s-%d%s", base, n, siteSuffix)
	}
}

// A keeper writes files over and over as they are worked on. What it did not
// write itself it copies aside before it writes over it.
type keeper struct{ written map[string][]byte }

// keep replaces the file at path as a whole.
func (k *keeper) keep(path string, text []byte) error {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real // the file that a link leads to, not the link
	}
	mode := fs.FileMode(0o644)
	switch was, err := wholefile.Read(path, wholefile.Form); {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		return err
	default:
		if bytes.Equal(was, text) {
			return nil
		}
		if info, err := os.Stat(path); err == nil {
			mode = info.Mode().Perm()
		}
		if own, ok := k.written[path]; !ok || !bytes.Equal(own, was) {
			if err := backUp(path, was, mode); err != nil {
				return fmt.Errorf(words().Failed.NoBackup, err)
			}
		}
	}
	if err := replace(path, mode, holding(text)); err != nil {
		return err
	}
	if k.written == nil {
		k.written = map[string][]byte{}
	}
	k.written[path] = bytes.Clone(text)
	return nil
}

// backUp copies text to path.bak, or to path.bak.2 and so on where there are
// backups already. It never overwrites.
func backUp(path string, text []byte, mode fs.FileMode) error {
	_, err := writeNew(text, mode, func(n int) string {
		if n == 1 {
			return path + ".bak"
		}
		return fmt.Sprintf("%s.bak.%d", path, n)
	})
	return err
}
