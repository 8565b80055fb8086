package record

import (
	"errors"
	"os"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/field/visiting"
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
	Depth     visiting.Depth
	Concluded *visiting.Conclusion // the last one kept, where nothing was answered since; not of a [Shelf.Glance]
	Damage    error                // nil if the journal is whole; else what can be read is above
}

// Readable reports whether the file could be read, and some of its lines are whole.
func (it Item) Readable() bool {
	damage := (*Damage)(nil)
	return it.Damage == nil || errors.As(it.Damage, &damage)
}

// List gives the visits in dir, the one last worked on first. A folder that is
// not there holds none.
func List(dir string) ([]Item, error) {
	return list(dir, func(f os.DirEntry, id string) Item { return Look(dir, id) })
}

// Look gives one visit in dir, as [List] does.
func Look(dir, id string) Item { return look(path(dir, id), id) }

func list(dir string, see func(f os.DirEntry, id string) Item) ([]Item, error) {
	files, err := os.ReadDir(dir)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	var items []Item
	for _, f := range files {
		id, ok := strings.CutSuffix(f.Name(), Suffix)
		if !ok || f.IsDir() || !idForm.MatchString(id) {
			continue
		}
		items = append(items, see(f, id))
	}
	slices.SortStableFunc(items, func(a, b Item) int {
		if c := b.LastAt.Compare(a.LastAt); c != 0 {
			return c
		}
		return strings.Compare(a.ID, b.ID)
	})
	return items, nil
}

func look(name, id string) Item {
	entries, damage, err := Read(name)
	it := describe(entries)
	it.ID, it.Damage = id, err
	if damage != nil {
		it.Damage = damage
	}
	return it
}

func describe(entries []visiting.Entry) Item {
	var it Item
	for _, e := range entries {
		switch {
		case e.Head != nil:
			it.SiteName, it.Who, it.StartedAt, it.LastAt = e.Head.SiteName, e.Head.Who, e.Head.StartedAt, e.Head.StartedAt
			it.Depth = e.Head.Depth
		case e.Answer != nil:
			it.LastAt = timeOf(e)
			if e.Answer.Kind != visiting.Note {
				it.Answers++
				it.Finished, it.Concluded = false, nil
			}
		case e.End != nil:
			it.LastAt, it.Finished = timeOf(e), true
		case e.Conclusion != nil:
			it.Concluded = e.Conclusion
		}
	}
	return it
}

// timeOf is when an answer was given or a visit ended.
func timeOf(e visiting.Entry) (at time.Time) {
	switch {
	case e.Answer != nil:
		at = e.Answer.At
	case e.End != nil:
		at = e.End.At
	}
	return at
}
