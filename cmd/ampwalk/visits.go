package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"runtime"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
)

func (a *app) dataDir(given string) (string, error) {
	return record.Dir(given, runtime.GOOS, a.getenv)
}

// summary is the text of a visit in so many columns, by a belief of now if it has none,
// with an outlook if there is one.
func (a *app) summary(v *visiting.Visit, columns int, o *outlook.Outlook) (string, error) {
	if err := a.remembering().believe(v); err != nil {
		return "", err
	}
	return summary.ForStaff(v, summary.Beside{Outlook: o}).TextIn(columns), nil
}

// visits lists the recorded visits in a table, then what could not be read.
func (a *app) visits(f *pflag.FlagSet) action {
	data := f.String("data", "", "")
	return func(_ *cobra.Command, _ []string) error {
		dir, err := a.dataDir(*data)
		if err != nil {
			return err
		}
		items, err := record.List(dir)
		if err != nil {
			return err
		}
		if len(items) == 0 {
			_, err = fmt.Fprintf(a.stdout, words().Visit.None+"\n", plaintext.Clean(dir))
			return err
		}
		return a.listVisits(a.bookIn(dir), items)
	}
}

// listVisits writes the rows, and then what is wrong with a journal.
func (a *app) listVisits(b *book, items []record.Item) error {
	var ids []string
	for _, it := range items {
		ids = append(ids, it.ID)
	}
	w, rows := words().Visits, 0
	out := tabwriter.NewWriter(a.stdout, 0, 0, 2, ' ', 0)
	fmt.Fprintln(out, strings.Join([]string{w.Visit, w.Site, w.Last, w.Depth, w.Found, w.Open, w.By}, "\t"))
	for _, it := range items {
		if !it.Readable() {
			continue
		}
		rows++
		cells := []string{shortID(it.ID, ids), it.SiteName, it.LastAt.Format("2006-01-02 15:04"), w.Depths[cmp.Or(string(it.Depth), "full")], found(it), b.openWork(it), it.Who}
		for i, c := range cells {
			cells[i] = plaintext.Cell(plaintext.Clean(c))
		}
		fmt.Fprintln(out, strings.TrimRight(strings.Join(cells, "\t"), "\t"))
	}
	if rows > 0 {
		if err := out.Flush(); err != nil {
			return err
		}
	}
	for _, it := range items {
		if text := damaged(it); text != "" {
			a.warn(text)
		}
	}
	return nil
}

// shortest is how much of an id is shown at least: its day and its hour.
const shortest = len("20060102-1504")

// shortID is the beginning of an id that no other of the ids has, as --resume takes it.
func shortID(id string, ids []string) string {
	n := min(shortest, len(id))
	for ; n < len(id); n++ {
		same := 0
		for _, other := range ids {
			if strings.HasPrefix(other, id[:n]) {
				same++
			}
		}
		if same == 1 {
			break
		}
	}
	return id[:n]
}

// found is what a visit found, or how far it is.
func found(it record.Item) string {
	w := words().Visits
	switch {
	case !it.Finished:
		return fmt.Sprintf(w.NotFinished, words().Visit.Answers.Of(it.Answers))
	case it.Concluded == nil || it.Concluded.Leader().ID == "":
		return w.Finished
	default:
		lead := it.Concluded.Leader()
		return fmt.Sprintf(w.Finding, condition.Of(lead.ID).Title, quantity.Percent(float64(lead.Probability)))
	}
}

// openWork is what a visit left to be done: what it has open stands first.
func (b *book) openWork(it record.Item) string {
	w := words().Visits
	if !it.Finished {
		if open := b.notPutBack(it.ID); open != "" {
			return fmt.Sprintf(w.NotBack, open)
		}
		return ""
	}
	if it.Concluded == nil {
		return ""
	}
	if open := it.Concluded.NotBack; len(open) > 0 {
		return fmt.Sprintf(w.NotBack, strings.Join(open, "; "))
	}
	due := ""
	for _, o := range it.Concluded.Left {
		if o.Due != "" && (due == "" || o.Due < due) {
			due = o.Due
		}
	}
	switch n := len(it.Concluded.Left); {
	case n == 0:
		return w.Nothing
	case due == "":
		return w.Actions.Of(n)
	default:
		return fmt.Sprintf(w.Due, w.Actions.Of(n), due)
	}
}

// damaged is what is wrong with the journal of a visit, "" for nothing.
func damaged(it record.Item) string {
	switch {
	case it.Damage == nil:
		return ""
	case it.Readable():
		return fmt.Sprintf(words().Visits.EndDamaged, it.ID)
	case errors.Is(it.Damage, record.ErrUnreadable):
		return plaintext.Clean(it.Damage.Error())
	default:
		return fmt.Sprintf(words().Visit.NotRead, it.ID, cause(it.Damage))
	}
}

// cause is an error without the name of the file, which was said already.
func cause(err error) error {
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		return path.Err
	}
	return err
}
