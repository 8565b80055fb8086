package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/ledger"
	"ampwalk/diagnose/report"
	"ampwalk/diagnose/review"
)

// report writes what a ledger knows: for a spreadsheet, for another program, or as
// an overview of the programme.
func (a *app) report(args []string) error {
	f := a.flags("report")
	as := f.String("as", "html", "")
	where := f.String("ledger", "", "")
	data := f.String("data", "", "")
	out := f.String("out", "", "")
	var want ledger.Filter
	f.StringVar(&want.Site, "site", "", "")
	f.StringVar(&want.Staff, "staff", "", "")
	f.Func("condition", "", func(text string) error {
		want.Condition = condition.ID(text)
		if !slices.ContainsFunc(condition.All(), func(c condition.Condition) bool { return c.ID == want.Condition }) {
			return fmt.Errorf("there is no condition %q; expected one such as %s", text, condition.BatteryWorn)
		}
		return nil
	})
	f.Func("state", "", func(text string) (err error) {
		want.State, err = stateOf(text)
		return err
	})
	f.Func("from", "", dayInto(&want.From))
	f.Func("before", "", dayInto(&want.Before))
	if err := a.parse(f, args, 0, 0); err != nil {
		return err
	}
	write, ok := map[string]func(io.Writer, report.Visits) error{"csv": report.CSV, "jsonl": report.JSONLines, "html": a.overview}[*as]
	if !ok {
		return a.wrong("report", "--as is %q; expected csv, jsonl or html", *as)
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	l, err := a.openLedger(ctx, *where, *data, false)
	if err != nil {
		return err
	}
	err = a.toFile(*out, func(w io.Writer) error { return write(w, l.Rows(ctx, want, ledger.Oldest)) })
	err = errors.Join(err, l.Close())
	if ctx.Err() != nil {
		return errInterrupted
	}
	return err
}

// overview writes the overview as HTML.
func (a *app) overview(w io.Writer, visits report.Visits) error {
	d, err := report.Overview(visits, a.now())
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, d.HTML(a.usualPaper()))
	return err
}

// toFile writes to a new file, or to standard output where path is "".
func (a *app) toFile(path string, write func(io.Writer) error) error {
	if path == "" {
		w := bufio.NewWriter(a.stdout)
		return errors.Join(write(w), w.Flush())
	}
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return inputError{fmt.Errorf("ampwalk report: %w", err)}
	}
	w := bufio.NewWriter(f)
	if err := errors.Join(write(w), w.Flush(), f.Sync(), f.Close()); err != nil {
		return errors.Join(err, os.Remove(path))
	}
	return a.written(path)
}

// stateOf is a state by its words, with dashes or spaces.
func stateOf(text string) (review.State, error) {
	var names []string
	for _, s := range review.States {
		name := strings.ReplaceAll(s.String(), " ", "-")
		if strings.ReplaceAll(text, " ", "-") == name {
			return s, nil
		}
		names = append(names, name)
	}
	return 0, fmt.Errorf("there is no state %q; expected %s", text, strings.Join(names, ", "))
}

// dayInto reads a day as the time it begins in UTC.
func dayInto(at *time.Time) func(string) error {
	return func(text string) (err error) {
		if *at, err = time.Parse(time.DateOnly, text); err != nil {
			return fmt.Errorf("%q is no day; expected one such as 2026-11-25", text)
		}
		return nil
	}
}
