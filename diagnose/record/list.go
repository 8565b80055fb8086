package record

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose"
)

// An Item is one visit of a folder.
type Item struct {
	ID        string
	SiteName  string
	Who       string
	StartedAt time.Time
	LastAt    time.Time // of the last entry
	Answers   int       // given, corrections included and notes not
	Finished  bool
	Damage    error // nil if the journal is whole; else what can be read is above
}

// List gives the visits in dir, the one last worked on first. A folder that is
// not there holds none.
func List(dir string) ([]Item, error) {
	names, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var items []Item
	for _, n := range names {
		id, ok := strings.CutSuffix(n.Name(), Suffix)
		if !ok || n.IsDir() || !idForm.MatchString(id) {
			continue
		}
		entries, damage, err := Read(filepath.Join(dir, n.Name()))
		item := describe(entries)
		item.ID, item.Damage = id, err
		if damage != nil {
			item.Damage = damage
		}
		items = append(items, item)
	}
	slices.SortStableFunc(items, func(a, b Item) int {
		if c := b.LastAt.Compare(a.LastAt); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return items, nil
}

func describe(entries []diagnose.Entry) Item {
	var it Item
	for _, e := range entries {
		switch {
		case e.Head != nil:
			it.SiteName, it.Who, it.StartedAt, it.LastAt = e.Head.SiteName, e.Head.Who, e.Head.StartedAt, e.Head.StartedAt
		case e.Answer != nil:
			it.LastAt = e.Answer.At
			if e.Answer.Kind != diagnose.Note {
				it.Answers++
				it.Finished = false
			}
		case e.End != nil:
			it.LastAt, it.Finished = e.End.At, true
		}
	}
	return it
}
