package review

import (
	"fmt"
	"slices"
	"time"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/office/signature"
)

// A Doubt says why one review does not count.
type Doubt struct {
	Entry Entry
	Cause error
}

func (d *Doubt) Error() string {
	return fmt.Sprintf(words().Doubt, d.Entry.Kind.Text(), d.Entry.Who, d.Entry.At.Format("2006-01-02 15:04"), d.Cause)
}

func (d *Doubt) Unwrap() error { return d.Cause }

var (
	// ErrOtherVisit says that a review is about another visit.
	ErrOtherVisit = datafile.Error(func() string { return words().OtherVisit })
	// ErrOtherJournal says that the journal that a review was signed over is not
	// this one, nor one that this one goes on from.
	ErrOtherJournal = datafile.Error(func() string { return words().OtherJournal })
)

// Verify checks each of the reviews of visit id, whose journal's lines have the
// given hashes: is it about this journal, and does the key that signed it vouch for
// the name in it. The seen function says when somebody else first had an entry, or
// the zero time; nil: nobody did. What is wrong comes as [Doubt]s.
func Verify(id string, hashes []string, list []Entry, names signature.Names, seen func(Entry) time.Time) (doubts []*Doubt) {
	for _, e := range list {
		var at time.Time
		if seen != nil {
			at = seen(e)
		}
		err := names.Vouch(e.Key, e.Who, e.At, at)
		switch {
		case e.Visit != id:
			err = ErrOtherVisit
		case !slices.Contains(hashes, e.Head):
			err = ErrOtherJournal
		}
		if err != nil {
			doubts = append(doubts, &Doubt{e, err})
		}
	}
	return doubts
}
