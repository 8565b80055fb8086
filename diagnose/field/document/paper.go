package document

import "fmt"

// A Paper is a size of paper [mm].
type Paper struct {
	Name string
	W, H float64
}

// The papers.
//
// Source: ISO 216; ANSI/ASME Y14.1 (both from memory).
var (
	A4     = Paper{"a4", 210, 297}
	Letter = Paper{"letter", 215.9, 279.4}
)

// PaperOf is the paper of that name.
func PaperOf(name string) (Paper, error) {
	for _, p := range []Paper{A4, Letter} {
		if p.Name == name {
			return p, nil
		}
	}
	return Paper{}, fmt.Errorf(words().Paper, name)
}
