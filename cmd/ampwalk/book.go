package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A book is the folder of the visits; one of them at a time is open for writing.
type book struct {
	*app
	dir         string
	instruments map[reading.Meter]quantity.Instrument // of the visits begun; nil: the usual ones
	journal     *record.Journal
	lefts       lefts
	shelf       *record.Shelf // of dir
}

func (a *app) bookIn(dir string) *book {
	return &book{app: a, dir: dir, shelf: record.NewShelf(dir)}
}

// beginAt begins a visit at the site of a file.
func (b *book) beginAt(file, who string, depth visiting.Depth) (*visiting.Visit, error) {
	_, text, err := readSite(file)
	if err != nil {
		return nil, err
	}
	return b.begin(text, who, depth)
}

// begin begins a visit at the site that text describes.
func (b *book) begin(text []byte, who string, depth visiting.Depth) (*visiting.Visit, error) {
	s, err := site.Parse("site file", text)
	if err != nil {
		return nil, inputError{err}
	}
	b.close()
	head := visiting.Head{SiteName: s.Name, SiteTOML: string(text), Who: who, StartedAt: b.now(), Depth: depth, Instruments: b.instruments}
	head.Earlier = b.earlier(head)
	j, err := record.Create(b.dir, head)
	if err != nil {
		return nil, err
	}
	head.ID = j.ID()
	v, err := visiting.New(head, j)
	if err != nil {
		return nil, errors.Join(err, j.Discard())
	}
	b.journal = j
	return v, nil
}

// earlier is what the last visit to the site found that may still be so, nil for nothing.
// A visit begins without it where the old one cannot be read.
func (b *book) earlier(h visiting.Head) *visiting.Earlier {
	items := b.visitsBySite()[h.SiteName]
	for _, it := range items[:min(mostEarlier, len(items))] {
		entries, _, err := record.Read(filepath.Join(b.dir, it.ID+record.Suffix))
		if err != nil {
			return nil
		}
		v, err := visiting.Resume(entries, nil)
		if err != nil {
			return nil
		}
		if v.Compared() {
			return visiting.EarlierFor(v, h.SiteTOML, h.StartedAt)
		}
	}
	return nil
}

// mostEarlier is how many visits are read for it: those left after a question or two say
// nothing.
const mostEarlier = 3

// open takes up a visit again, with a notice of what a damaged journal lost.
func (b *book) open(id string) (v *visiting.Visit, notice string, err error) {
	b.close()
	j, entries, damage, err := record.Open(b.dir, id)
	if errors.Is(err, os.ErrNotExist) {
		return nil, "", inputError{fmt.Errorf(words().Wrong.NoVisit, id, b.dir)}
	}
	if errors.Is(err, record.ErrID) {
		return nil, "", inputError{fmt.Errorf("ampwalk: %w", err)}
	}
	if err != nil {
		return nil, "", err
	}
	if damage != nil {
		notice = damage.Error()
	}
	v, err = visiting.Resume(entries, j)
	if err != nil {
		return nil, notice, errors.Join(err, j.Close())
	}
	b.journal = j
	return v, notice, nil
}

// unfinished are the visits that were left before their end, and those that came home
// with a question.
func (b *book) unfinished() []record.Item {
	items, err := b.shelf.Glance()
	if err != nil {
		b.warn(err.Error())
	}
	items = slices.DeleteFunc(items, func(it record.Item) bool {
		return it.Finished && !b.sentBack(it.ID) || !it.Readable()
	})
	for i, it := range items {
		items[i] = record.Look(b.dir, it.ID) // few: with the number of answers, and damage
	}
	return items
}

// notPutBack is what the visit of that id has open and nobody decided to leave so, ""
// for nothing. It reads the journal and leaves it alone, whoever is writing it.
func (b *book) notPutBack(id string) string {
	entries, _, err := record.Read(filepath.Join(b.dir, id+record.Suffix))
	if err != nil {
		return ""
	}
	v, err := visiting.Resume(entries, nil)
	if err != nil {
		return ""
	}
	return v.Procedure().OpenText(v.State())
}

// tellUnfinished names the other visits that can be continued.
func (b *book) tellUnfinished(but string) {
	others := slices.DeleteFunc(b.unfinished(), func(it record.Item) bool { return it.ID == but })
	switch len(others) {
	case 0:
	case 1:
		b.tell(words().Visit.AnotherOpen, others[0].ID)
	default:
		b.tell("%s", words().Visit.OthersOpen.Of(len(others)))
	}
	for _, it := range others {
		if open := b.notPutBack(it.ID); open != "" {
			b.item(fmt.Sprintf(words().Visit.NotPutBack, it.ID, open))
		}
	}
}

// leave lets go of a visit that is left for the start screen, and gives those that can be
// continued. One without an answer is no visit: its journal goes.
func (b *book) leave(v *visiting.Visit) ([]record.Item, error) {
	var err error
	if b.journal != nil && len(v.Answers()) == 0 && len(v.Notes()) == 0 {
		err = b.journal.Discard()
		b.journal = nil
	}
	b.close()
	return b.unfinished(), err
}

// secure makes sure that the open visit, if any, is whole on the disk.
func (b *book) secure() error {
	if b.journal == nil {
		return nil
	}
	return b.journal.Secure()
}

// close lets go of the open visit, if any.
func (b *book) close() {
	if b.journal == nil {
		return
	}
	if err := b.journal.Close(); err != nil {
		b.warn(err.Error())
	}
	b.journal = nil
}
