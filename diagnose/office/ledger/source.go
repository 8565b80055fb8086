package ledger

import (
	"io"
	"io/fs"
	"iter"
	"path"
)

// A Source is one file that is handed in.
type Source struct {
	Name string // to speak of it
	Open func() (io.ReadCloser, error)
}

// Files gives the files of a folder and those below it, and of a file that is no
// folder that file. What is neither (a link, a device) is left out.
func Files(fsys fs.FS, root, called string) iter.Seq2[Source, error] {
	return func(yield func(Source, error) bool) {
		err := fs.WalkDir(fsys, root, func(name string, d fs.DirEntry, err error) error {
			s := Source{Name: path.Join(called, name), Open: func() (io.ReadCloser, error) { return fsys.Open(name) }}
			switch {
			case err == nil && !d.Type().IsRegular():
				return nil
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
