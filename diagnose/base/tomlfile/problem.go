package tomlfile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
)

// A Problem is one thing wrong in a file.
type Problem struct {
	File string
	Line int    // 1 is the first; of the key, or of its table where the key is missing
	Key  string // dotted, as it stands in the file; "" where no key is concerned
	Msg  string // what is wrong; what is expected

	Missing bool // it says only that nothing is there
}

// Error is "file:line: key: problem; what is expected", safe for a terminal.
func (p Problem) Error() string {
	where := fmt.Sprintf("%s:%d: ", p.File, p.Line)
	if p.Key != "" {
		where += p.Key + ": "
	}
	return plaintext.Clean(where + p.Msg)
}

// Problems are all that is wrong in a file, in the order of its lines.
type Problems []Problem

// Error is one line for each problem.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.Error()
	}
	return strings.Join(lines, "\n")
}

// sorted puts problems in the order of lines; those of one line keep the order
// in which they were found.
func (ps Problems) sorted() Problems {
	slices.SortStableFunc(ps, func(a, b Problem) int { return cmp.Compare(a.Line, b.Line) })
	return ps
}
