package record

import (
	"fmt"
	"os"
	"slices"
	"strings"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
)

// Last stands for the visit begun last, by the day and the hour of the ids.
const Last = "last"

// ErrSeveral says that the beginning of an id is that of several visits.
var ErrSeveral = datafile.Error(func() string { return words().SeveralBegin })

// maxNamed is how many visits an error names.
const maxNamed = 4

// Find is the id of the visit in dir that is meant by typed: its id, the beginning of its
// id if no other begins so, or [Last]. What names none is given back as it is.
func Find(dir, typed string) (string, error) {
	files, err := os.ReadDir(dir)
	if err != nil {
		return typed, nil // who opens the visit says what is wrong with the folder
	}
	var ids, begin []string
	for _, f := range files {
		id, ok := strings.CutSuffix(f.Name(), Suffix)
		if !ok || f.IsDir() || !idForm.MatchString(id) {
			continue
		}
		ids = append(ids, id)
		if strings.HasPrefix(id, typed) {
			begin = append(begin, id)
		}
	}
	switch {
	case slices.Contains(ids, typed), typed == "":
		return typed, nil
	case typed == Last && len(ids) > 0:
		return slices.Max(ids), nil
	case len(begin) == 1:
		return begin[0], nil
	case len(begin) > 1:
		named := strings.Join(begin[:min(maxNamed, len(begin))], ", ")
		return "", fmt.Errorf(words().Several, ErrSeveral, plaintext.Clean(typed), named)
	default:
		return typed, nil
	}
}
