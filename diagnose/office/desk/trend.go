package desk

import (
	"context"
	"slices"
	"time"

	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/triage"
)

// maxCompared is how many visits of a site are compared, the last ones.
const maxCompared = 60

// A Trend is one quantity over the visits of a site, up to the one on the desk.
type Trend struct {
	Quantity triage.Quantity
	Points   []Point // the oldest first
}

// A Point is what one visit found.
type Point struct {
	Visit string // id
	At    time.Time
	Value float64 // in the quantity's unit
}

// Trends compares a visit with the site's earlier ones. A quantity that none of
// them has is left out.
func (d *Desk) Trends(ctx context.Context, r ledger.Row) ([]Trend, error) {
	const after = time.Millisecond // as exactly as a ledger keeps times
	rows, err := d.Ledger.List(ctx, ledger.Query{
		Filter: ledger.Filter{Site: r.Digest.Site, Before: r.Digest.StartedAt.Add(after)}, Order: ledger.Newest, Limit: maxCompared,
	})
	if err != nil {
		return nil, err
	}
	slices.Reverse(rows)
	return trendsOf(rows), nil
}

func trendsOf(rows []ledger.Row) (list []Trend) {
	for _, q := range triage.Quantities {
		t := Trend{Quantity: q}
		for _, r := range rows {
			for _, m := range r.Digest.Measures {
				if m.Quantity == q {
					t.Points = append(t.Points, Point{r.Digest.ID, r.Digest.StartedAt, m.Value})
				}
			}
		}
		if len(t.Points) > 0 {
			list = append(list, t)
		}
	}
	return list
}
