package ledger

import (
	"io"
	"io/fs"
	"iter"
	"path"
	"strings"

	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/review"
)

// A Source is one file that is handed in.
type Source struct {
	Name string // to speak of it
	Open func() (io.ReadCloser, error)
}

// Files gives the files of a folder and those below it, and of a file that is no
// folder that file. What is neither (a link, a device, a pipe) is not followed and not
// opened; one with the name of a visit or of reviews comes with an error that says so.
func Files(fsys fs.FS, root, called string) iter.Seq2[Source, error] {
	return func(yield func(Source, error) bool) {
		err := fs.WalkDir(fsys, root, func(name string, d fs.DirEntry, err error) error {
			s := Source{Name: path.Join(called, name), Open: func() (io.ReadCloser, error) { return fsys.Open(name) }}
			if err == nil && !d.Type().IsRegular() {
				if d.IsDir() || !hasName(name) {
					return nil
				}
				err = wholefile.ErrNotRegular
			}
			switch {
			case !yield(s, err):
				return fs.SkipAll
			case err != nil && d != nil && d.IsDir():
				return fs.SkipDir
			}
			return nil
		})
		if err != nil {
			yield(Source{Name: called}, err)
		}
	}
}

// hasName reports whether a file is named as a visit, as reviews or as results of practice.
func hasName(name string) bool {
	return strings.HasSuffix(name, record.Suffix) || strings.HasSuffix(name, review.Suffix) || strings.HasSuffix(name, practiceName)
}
