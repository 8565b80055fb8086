package ledger

import (
	"time"

	"ampwalk/diagnose"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/record"
)

// A Digest is what the lists say of a visit.
type Digest struct {
	ID, Site, Staff string
	StartedAt       time.Time
	LastAt          time.Time
	Finished        bool
	Condition       condition.ID
	P               float64
	Level           int
	Due             time.Time
}

func digestOf(c record.Content) (Digest, error) {
	h := c.Head()
	d := Digest{ID: h.ID, Site: h.SiteName, Staff: h.Who, StartedAt: h.StartedAt}
	for _, e := range c.Entries {
		switch {
		case e.Answer != nil:
			d.LastAt, d.Finished = e.Answer.At, d.Finished && e.Answer.Kind == diagnose.Note
		case e.End != nil:
			d.LastAt, d.Finished = e.End.At, true
		}
	}
	return d, nil
}
