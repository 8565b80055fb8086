package report

import (
	"cmp"
	"encoding/csv"
	"encoding/json"
	"io"
	"iter"
	"slices"
	"strconv"
	"strings"
	"time"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/triage"
	"ampwalk/diagnose/physics/condition"
)

// Visits are rows of a ledger; an error ends them.
type Visits = iter.Seq2[ledger.Row, error]

// A line is one visit as it goes out. Times are UTC, days 2006-01-02.
type line struct {
	ID          string                      `json:"id"`
	Site        string                      `json:"site"`
	Staff       string                      `json:"staff"`
	StartedAt   time.Time                   `json:"started_at"`
	LastAt      time.Time                   `json:"last_at"`
	State       string                      `json:"state"`
	Condition   condition.ID                `json:"condition"` // "": none was concluded
	Probability float64                     `json:"probability"`
	Attention   []string                    `json:"attention"` // reasons, the most urgent first
	Left        []left                      `json:"left"`      // to be done
	Measures    map[triage.Quantity]float64 `json:"measures"`
	Again       *again                      `json:"again"` // what an engine of a later day made of it; null: none has looked
	Reviews     int                         `json:"reviews"`
	Fingerprint string                      `json:"fingerprint"` // of the journal
}

// again is what an engine of a later day made of a visit.
type again struct {
	Engine      string       `json:"engine"`
	At          time.Time    `json:"at"`
	Condition   condition.ID `json:"condition"` // "": it could make nothing of it
	Probability float64      `json:"probability"`
	Differs     bool         `json:"differs"` // from what the visit concluded
}

// left is work that the visit left to be done.
type left struct {
	Condition condition.ID `json:"condition"`
	Who       string       `json:"who,omitempty"`
	Due       string       `json:"due,omitempty"`
}

func leftOf(d ledger.Digest) []left {
	list := make([]left, 0, len(d.Left))
	for _, o := range d.Left {
		list = append(list, left{condition.ID(plaintext.Clean(string(o.Condition))), plaintext.Clean(o.Who), plaintext.Clean(o.Due)})
	}
	return list
}

func lineOf(r ledger.Row, at time.Time) line {
	d := r.Digest
	l := line{
		ID: d.ID, Site: plaintext.Clean(d.Site), Staff: plaintext.Clean(d.Staff), StartedAt: d.StartedAt.UTC(), LastAt: d.LastAt.UTC(),
		State: r.State.String(), Condition: condition.ID(plaintext.Clean(string(d.Condition))), Probability: d.P, Attention: []string{}, Left: leftOf(d),
		Measures: map[triage.Quantity]float64{}, Reviews: r.Reviews, Fingerprint: r.Head,
	}
	if a := r.Again; a.Engine != "" {
		l.Again = &again{plaintext.Clean(a.Engine), a.At.UTC(), a.Condition, a.P, a.Differs}
	}
	for _, f := range r.Flags(ledger.Day(at)) {
		l.Attention = append(l.Attention, f.Text())
	}
	for _, m := range d.Measures {
		l.Measures[m.Quantity] = m.Value
	}
	return l
}

// JSONLines writes one object a visit and line, as things are at a time.
func JSONLines(w io.Writer, visits Visits, at time.Time) error {
	out := json.NewEncoder(w)
	for r, err := range visits {
		if err != nil {
			return err
		}
		if err := out.Encode(lineOf(r, at)); err != nil {
			return err
		}
	}
	return nil
}

// CSV writes one row a visit under a row of headings (RFC 4180), as things are at a
// time.
func CSV(w io.Writer, visits Visits, at time.Time) error {
	out := csv.NewWriter(w)
	head := slices.Clone(texts().CSV.Columns)
	for _, q := range triage.Quantities {
		head = append(head, q.Title()+" ["+q.Unit()+"]")
	}
	if err := out.Write(head); err != nil {
		return err
	}
	for r, err := range visits {
		if err != nil {
			return err
		}
		if err := out.Write(cells(lineOf(r, at))); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func cells(l line) []string {
	var what, who, due []string
	for _, o := range l.Left {
		what, who, due = append(what, title(o.Condition)), append(who, o.Who), append(due, o.Due)
	}
	p := ""
	if l.Condition != "" {
		p = strconv.FormatFloat(l.Probability, 'g', -1, 64)
	}
	row := []string{
		l.ID, l.Site, l.Staff, l.StartedAt.Format(time.RFC3339), l.LastAt.Format(time.RFC3339), l.State,
		title(l.Condition), p, strings.Join(l.Attention, " "), together(what), together(who), together(due), strconv.Itoa(l.Reviews),
	}
	for i := range row {
		row[i] = plaintext.Cell(row[i])
	}
	for _, q := range triage.Quantities {
		text := ""
		if x, ok := l.Measures[q]; ok {
			text = strconv.FormatFloat(x, 'g', -1, 64)
		}
		row = append(row, text)
	}
	return row
}

// together are the values of several pieces of work in one cell, each in its place:
// what is not known of one is a dash, unless it is known of none.
func together(list []string) string {
	shown, none := slices.Clone(list), true
	for i, s := range list {
		shown[i] = cmp.Or(strings.ReplaceAll(s, ";", ","), "–")
		none = none && s == ""
	}
	if none {
		return ""
	}
	return strings.Join(shown, "; ")
}

// title is a condition in plain words; one that is not in the catalogue is given
// as it stands.
func title(id condition.ID) string {
	if c, ok := known(id); ok {
		return c.Title
	}
	return string(id)
}
