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
	format := f.String("format", "html", "")
	replace := f.Bool("replace", false, "")
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
	f.Func("from", "", a.dayInto(&want.From))
	f.Func("before", "", a.dayInto(&want.Before))
	f.BoolVar(&want.Attention, "attention", false, "")
	overdue := f.Bool("overdue", false, "")
	if err := a.parse(f, args, 0, 0); err != nil {
		return err
	}
	form, ok := map[string]func(io.Writer, report.Visits) error{"csv": report.CSV, "jsonl": report.JSONLines, "html": a.overview}[*format]
	if !ok {
		return a.wrong("report", "--format is %q; expected csv, jsonl or html", *format)
	}
	if *overdue {
		want.Overdue = a.now()
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	l, err := a.openLedger(ctx, *where, *data, false)
	if err != nil {
		return err
	}
	fill := func(w io.Writer) error { return form(w, l.Rows(ctx, want, ledger.Oldest)) }
	if *out == "" || *out == "-" {
		w := bufio.NewWriter(a.stdout)
		err = errors.Join(fill(w), w.Flush())
	} else if err = write(*out, *replace, fill); err == nil {
		err = a.written(*out)
	}
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

// dayInto reads a day as the time it begins here, as the desk does.
func (a *app) dayInto(at *time.Time) func(string) error {
	return func(text string) (err error) {
		if *at, err = time.ParseInLocation(time.DateOnly, text, a.now().Location()); err != nil {
			return fmt.Errorf("%q is no day; expected one such as 2026-11-25", text)
		}
		return nil
	}
}
