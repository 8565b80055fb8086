package main

import (
	"errors"
	"fmt"
	"io/fs"
	"runtime"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/outlook"
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

// visits lists the recorded visits.
func (a *app) visits(f *pflag.FlagSet) action {
	data := f.String("data", "", "")
	return func(_ *cobra.Command, _ []string) error {
		dir, err := a.dataDir(*data)
		if err != nil {
			return err
		}
		b := a.bookIn(dir)
		items, err := record.List(dir)
		if err != nil {
			return err
		}
		if len(items) == 0 {
			_, err = fmt.Fprintf(a.stdout, words().Visit.None+"\n", plaintext.Clean(dir))
			return err
		}
		for _, it := range items {
			text := describe(it)
			if !it.Finished {
				if open := b.notPutBack(it.ID); open != "" {
					text = fmt.Sprintf(words().Visit.ListNotPutBack, text, open)
				}
			}
			if _, err := fmt.Fprintln(a.stdout, text); err != nil {
				return err
			}
		}
		return nil
	}
}

func describe(it record.Item) string {
	switch {
	case it.Readable():
	case errors.Is(it.Damage, record.ErrUnreadable):
		return plaintext.Clean(it.Damage.Error())
	default:
		return plaintext.Clean(fmt.Sprintf(words().Visit.NotRead, it.ID, cause(it.Damage)))
	}
	state := words().Visit.NotFinished
	if it.Finished {
		state = words().Visit.Finished
	}
	text := fmt.Sprintf(words().Visit.Line, it.ID, it.SiteName, state, words().Visit.Answers.Of(it.Answers), it.LastAt.Format("2006-01-02 15:04"))
	if it.Who != "" {
		text += fmt.Sprintf(words().Visit.By, it.Who)
	}
	if it.Damage != nil {
		text += words().Visit.EndDamaged
	}
	return plaintext.Clean(text)
}

// cause is an error without the name of the file, which was said already.
func cause(err error) error {
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		return path.Err
	}
	return err
}
