package record

import (
	"bytes"
	"io"
	"os"
	"sync"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/internal/hashchain"
)

const (
	headBytes = 8 << 10 // most heads, with a site file inside
	tailBytes = 2 << 10 // the end and the conclusion of most visits
)

// errLookCloser says that a journal must be read whole.
var errLookCloser = datafile.Error(func() string { return words().LookCloser })

// A Shelf is a folder of visits that is looked at again and again. It may be used by
// several goroutines.
type Shelf struct {
	dir  string
	mu   sync.Mutex
	seen map[string]sighting // by id
}

// A sighting is what a journal was when its file had this size and time.
type sighting struct {
	size int64
	at   time.Time
	item Item
}

// NewShelf is the shelf of a folder.
func NewShelf(dir string) *Shelf { return &Shelf{dir: dir, seen: map[string]sighting{}} }

// Glance is [List] by the first and the last lines of each journal, which is many times
// as quick, and opens only what has changed since. It counts no answers, and sees no
// damage in between: whoever opens a visit checks all of it.
func (s *Shelf) Glance() ([]Item, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return list(s.dir, func(f os.DirEntry, id string) Item {
		info, err := f.Info()
		if err != nil {
			return Item{ID: id, Damage: err} // it went away meanwhile
		}
		if was, ok := s.seen[id]; ok && was.size == info.Size() && was.at.Equal(info.ModTime()) {
			return was.item
		}
		it := glance(path(s.dir, id), id)
		s.seen[id] = sighting{info.Size(), info.ModTime(), it}
		return it
	})
}

func glance(name, id string) Item {
	it, err := endsOf(name)
	if err != nil {
		it = look(name, id)
		it.Answers = 0
	}
	it.ID = id
	return it
}

// endsOf describes a journal by its first line and as many of its last ones as tell
// whether it is finished. Each of these must follow the one before it.
func endsOf(name string) (it Item, err error) {
	f, err := wholefile.Open(name, os.O_RDONLY)
	if err != nil {
		return it, err
	}
	defer f.Close() // read only: nothing to lose
	info, err := f.Stat()
	if err != nil {
		return it, err
	}
	size := info.Size()
	first, err := part(f, 0, min(size, headBytes))
	if err != nil {
		return it, err
	}
	line, _, ended := bytes.Cut(first, []byte("\n"))
	if !ended || size > MaxSize {
		return it, errLookCloser
	}
	var k kept
	e, hash, version, err := k.unlink(line)
	if err != nil {
		return it, err
	}
	it = describe([]visiting.Entry{e})
	head := kept{hash: hash, version: version, whole: len(line) + 1}
	for most := int64(tailBytes); ; most *= 4 {
		from := max(int64(head.whole), size-most)
		tail, err := part(f, from, size-from)
		if err != nil {
			return it, err
		}
		told, err := head.tail(&it, tail, from == int64(head.whole))
		if told || err != nil {
			return it, err
		}
	}
}

func part(f *os.File, from, n int64) ([]byte, error) {
	data := make([]byte, n)
	_, err := io.ReadFull(io.NewSectionReader(f, from, n), data)
	return data, err
}

// tail completes what is said of a visit by its last lines, all there are after the head
// or some; told is false if they do not tell.
func (head kept) tail(it *Item, data []byte, all bool) (told bool, err error) {
	lines := bytes.SplitAfter(data, []byte("\n"))
	if len(lines[len(lines)-1]) > 0 {
		return false, errTorn
	}
	lines = lines[:len(lines)-1]
	if !all && len(lines) > 0 {
		lines = lines[1:] // it may have lost its beginning
	}
	last := false
	for i := len(lines) - 1; i >= 0; i-- {
		before := kept{version: head.version}
		switch {
		case i > 0 && len(lines[i-1]) >= hashchain.Least:
			before.hash = hashchain.Hash(lines[i-1])
		case i == 0 && all:
			before.hash = head.hash
		default:
			return false, nil
		}
		e, _, _, err := before.unlink(bytes.TrimSuffix(lines[i], []byte("\n")))
		if err != nil {
			return false, err
		}
		if at := timeOf(e); !at.IsZero() && !last {
			it.LastAt, last = at, true
		}
		if e.End != nil || e.Answer != nil && e.Answer.Kind != visiting.Note {
			it.Finished = e.End != nil
			return true, nil
		}
	}
	return all, nil
}
