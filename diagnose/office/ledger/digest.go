package ledger

import (
	"time"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/triage"
	"ampwalk/diagnose/physics/condition"
)

// A Digest is what the lists say of a visit.
type Digest struct {
	ID, Site, Staff string
	StartedAt       time.Time
	LastAt          time.Time
	Finished        bool
	Condition       condition.ID
	P               float64
	Level           int // how urgent it is: 0 not at all, 3 first
	Flags           []triage.Flag
	Due             time.Time
	Left            []visiting.Outstanding // to be done
	Battery         visiting.Battery
	Measures        []triage.Measure // to compare with the site's other visits
}

func digestOf(c record.Content, now time.Time) Digest {
	d := triage.Of(c.Entries, now)
	id, p := d.Condition()
	out := Digest{
		ID: d.ID, Site: d.Site, Staff: d.Staff, StartedAt: d.StartedAt, LastAt: d.LastAt, Finished: d.Finished,
		Condition: id, P: p, Level: d.Level(), Flags: d.Flags, Due: d.Due(), Measures: d.Measures,
	}
	if c := d.Conclusion; c != nil {
		out.Left, out.Battery = c.Left, c.Battery
	}
	return out
}
