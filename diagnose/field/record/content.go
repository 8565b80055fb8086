package record

import (
	"bytes"
	"fmt"
	"io"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/internal/hashchain"
)

// A Content is what the bytes of a journal hold, up to their first damage.
type Content struct {
	Entries []visiting.Entry
	Hashes  []string // of each entry's line; the last is the fingerprint
	Bytes   []byte   // the whole lines, as they were written
	Damage  error    // nil if all was whole, else a *Damage
}

// Head is what the visit started from.
func (c Content) Head() visiting.Head { return *c.Entries[0].Head }

// Fingerprint is the hash of the last whole line: it vouches for all of them.
func (c Content) Fingerprint() string { return c.Hashes[len(c.Hashes)-1] }

// Parse reads the bytes of a journal. Line ends that a mail program changed are
// put right. The error says that not even the head is whole, or that the visit
// has an id that no file may have.
func Parse(data []byte) (Content, error) {
	if err := bounded(data); err != nil {
		return Content{}, err
	}
	data, k := checkCarried(data)
	if len(k.entries) == 0 {
		return Content{}, unreadable("the visit", k)
	}
	if id := k.entries[0].Head.ID; !idForm.MatchString(id) {
		return Content{}, fmt.Errorf("%w, not %q", ErrID, id)
	}
	c := Content{Entries: k.entries, Bytes: data[:k.whole]}
	for line := range bytes.Lines(c.Bytes) {
		c.Hashes = append(c.Hashes, hashchain.Hash(line))
	}
	if k.damage != nil {
		c.Damage = k.damage
	}
	return c, nil
}

// A Writer writes the journal of one visit to anything; unlike a [Journal] it
// knows nothing of disks.
type Writer struct {
	to   io.Writer
	hash string // of the last line
}

// NewWriter begins a journal.
func NewWriter(to io.Writer) *Writer { return &Writer{to: to} }

// Append writes the next line.
func (w *Writer) Append(e visiting.Entry) error {
	line, hash, err := link(w.hash, e)
	if err != nil {
		return err
	}
	if _, err := w.to.Write(line); err != nil {
		return err
	}
	w.hash = hash
	return nil
}
