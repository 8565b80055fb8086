package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"ampwalk/diagnose"
	"ampwalk/diagnose/printable"
	"ampwalk/diagnose/record"
	"ampwalk/diagnose/summary"
)

func (a *app) dataDir(given string) (string, error) {
	return record.Dir(given, runtime.GOOS, a.getenv)
}

// print writes the summary of a recorded visit.
func (a *app) print(args []string) error {
	f := a.flags("print")
	data := f.String("data", "", "")
	if err := a.parse(f, args, 1, 1); err != nil {
		return err
	}
	name := f.Arg(0)
	if !strings.HasSuffix(name, record.Suffix) {
		dir, err := a.dataDir(*data)
		if err != nil {
			return err
		}
		name = filepath.Join(dir, filepath.Base(name)+record.Suffix)
	}
	entries, damage, err := record.Read(name)
	if errors.Is(err, os.ErrNotExist) {
		return inputError{fmt.Errorf("ampwalk print: there is no visit %s; ampwalk visits lists those there are", printable.Clean(name))}
	}
	if err != nil {
		return inputError{err}
	}
	if damage != nil {
		a.warn(name + ": " + damage.Error())
	}
	v, err := diagnose.Resume(entries, nil)
	if err != nil {
		return inputError{err}
	}
	text, err := a.summary(v)
	if err != nil {
		return err
	}
	_, err = io.WriteString(a.stdout, text)
	return err
}

// summary is the text of a visit, by a belief of now if it has none.
func (a *app) summary(v *diagnose.Visit) (string, error) {
	if v.Belief() == nil {
		r, err := a.infer(v.Input())
		if err != nil {
			return "", err
		}
		v.Learn(v.Seq(), r)
	}
	return summary.OfVisit(v).Text(), nil
}

// visits lists the recorded visits.
func (a *app) visits(args []string) error {
	f := a.flags("visits")
	data := f.String("data", "", "")
	if err := a.parse(f, args, 0, 0); err != nil {
		return err
	}
	dir, err := a.dataDir(*data)
	if err != nil {
		return err
	}
	items, err := record.List(dir)
	if err != nil {
		return err
	}
	if len(items) == 0 {
		_, err = fmt.Fprintf(a.stdout, "No visits in %s\n", printable.Clean(dir))
		return err
	}
	for _, it := range items {
		if _, err := fmt.Fprintln(a.stdout, describe(it)); err != nil {
			return err
		}
	}
	return nil
}

func describe(it record.Item) string {
	if errors.Is(it.Damage, record.ErrUnreadable) {
		return printable.Clean(fmt.Sprintf("%s: damaged, nothing can be read", it.ID))
	}
	state := "not finished"
	if it.Finished {
		state = "finished"
	}
	text := fmt.Sprintf("%s: %s, %s, %d answers, last %s", it.ID, it.SiteName, state, it.Answers, it.LastAt.Format("2006-01-02 15:04"))
	if it.Who != "" {
		text += ", by " + it.Who
	}
	if it.Damage != nil {
		text += ", its end is damaged"
	}
	return printable.Clean(text)
}

func (a *app) warn(text string) {
	fmt.Fprintf(a.stderr, "ampwalk: %s\n", printable.Clean(text))
}
