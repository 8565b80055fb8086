package main

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/base/wholefile"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/review"
)

// export writes a visit to one file that can be carried anywhere, and what was
// said of it to another beside it.
func (a *app) export(f *pflag.FlagSet) action {
	out := f.String("out", "", "")
	where := f.String("ledger", "", "")
	data := f.String("data", "", "")
	return func(_ *cobra.Command, args []string) error {
		var journal, reviews []byte
		var base string
		var err error
		if *where != "" {
			journal, reviews, base, err = a.fromLedger(*where, *data, args[0])
		} else {
			journal, reviews, base, err = a.fromFolder(*data, args[0])
		}
		if err != nil {
			return err
		}
		path := *out
		if path != "" {
			err = write(path, false, holding(journal))
		} else {
			path, err = writeBeside(".", base, record.Suffix, journal)
		}
		if err == nil {
			err = a.written(path)
		}
		if err != nil || len(reviews) == 0 {
			return err
		}
		path = reviewsBeside(path)
		if err := write(path, false, holding(reviews)); err != nil {
			return err
		}
		return a.written(path)
	}
}

func (a *app) fromFolder(data, visit string) (journal, reviews []byte, base string, err error) {
	name, _, err := a.visitFile("export", data, visit)
	if err != nil {
		return nil, nil, "", err
	}
	v, err := a.recorded(name)
	if err != nil {
		return nil, nil, "", err
	}
	var text bytes.Buffer
	if _, err := record.Export(name, &text); err != nil {
		return nil, nil, "", err
	}
	reviews, err = wholefile.Read(reviewsBeside(name), wholefile.Journal)
	if errors.Is(err, fs.ErrNotExist) {
		err = nil
	}
	return text.Bytes(), reviews, paper{}.name(v), err
}

func (a *app) fromLedger(where, data, id string) (journal, reviews []byte, base string, err error) {
	v, err := a.ledgerVisit("export", where, data, id)
	return v.Content.Bytes, review.Bytes(v.Said()), id, err
}

// reviewsBeside is the file of what was said of the visit in a journal's file.
func reviewsBeside(journal string) string {
	return strings.TrimSuffix(journal, record.Suffix) + review.Suffix
}

func takenText(t record.Taken) string {
	w := words().Import
	return map[record.Taken]string{record.TakenNew: w.New, record.TakenFurther: w.Further, record.TakenSame: w.Same, record.TakenOlder: w.Older}[t]
}

// importVisits takes visits, and what was said of them, from files into the folder
// of the visits.
func (a *app) importVisits(f *pflag.FlagSet) action {
	data := f.String("data", "", "")
	return func(_ *cobra.Command, args []string) error {
		dir, err := a.dataDir(*data)
		if err != nil {
			return err
		}
		var bad error
		for _, name := range args {
			if strings.HasSuffix(name, review.Suffix) {
				err = a.importReviews(dir, name)
			} else {
				err = a.importVisit(dir, name)
			}
			if err != nil {
				a.warn(err.Error())
				bad = worse(bad, err)
			}
		}
		return bad
	}
}

// worse is what several files come to: one that could not be written counts more than
// those that are bad input.
func worse(before, err error) error {
	if errors.Is(before, errFailed) || errors.Is(err, record.ErrNotKept) {
		return errFailed
	}
	return errUsage
}

func (a *app) importVisit(dir, name string) error {
	id, taken, damage, err := record.Import(dir, name, func(entries []visiting.Entry) error {
		_, err := visiting.Resume(entries, nil)
		return err
	})
	if err != nil {
		return err
	}
	if damage != nil {
		a.warn(name + ": " + damage.Error())
	}
	_, err = fmt.Fprintf(a.stdout, "%s: %s\n", plaintext.Clean(id), takenText(taken))
	return err
}

// importReviews takes in what was said of a visit. It is put beside the visit as a
// whole, or not at all, and only where it goes on from what is there.
func (a *app) importReviews(dir, name string) error {
	text, err := readUpTo(name, wholefile.Journal)
	if err != nil {
		return err
	}
	text = review.RepairLineEnds(text)
	list, err := review.Parse(text)
	switch {
	case err != nil:
		return fmt.Errorf("%s: %w", name, err)
	case len(list) == 0:
		return fmt.Errorf(words().Failed.Empty, name)
	case !record.IsID(list[0].Visit):
		return fmt.Errorf("%s: %w, not %q", name, record.ErrID, list[0].Visit)
	}
	path := filepath.Join(dir, list[0].Visit+review.Suffix)
	here, err := wholefile.Read(path, wholefile.Journal)
	taken := record.TakenFurther
	switch {
	case errors.Is(err, fs.ErrNotExist):
		taken = record.TakenNew
	case err != nil:
		return err
	case bytes.Equal(here, text):
		taken = record.TakenSame
	case bytes.HasPrefix(here, text):
		taken = record.TakenOlder
	case !bytes.HasPrefix(text, here):
		return fmt.Errorf(words().Failed.OtherReviews, name, path)
	}
	if taken == record.TakenNew || taken == record.TakenFurther {
		err := os.MkdirAll(dir, 0o700)
		if err == nil {
			err = replace(path, 0o600, holding(text))
		}
		if err != nil {
			return fmt.Errorf("%w: %w", record.ErrNotKept, err)
		}
	}
	_, err = fmt.Fprintf(a.stdout, words().Import.Reviews+"\n", plaintext.Clean(list[0].Visit), takenText(taken))
	return err
}
