package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/report"
)

// report writes what a ledger knows: for a spreadsheet, for another program, or as
// an overview of the programme.
func (a *app) report(f *pflag.FlagSet) action {
	format := choose(f, "format", "html", "csv", "jsonl")
	replace := f.Bool("replace", false, "")
	where := f.String("ledger", "", "")
	out := f.String("out", "", "")
	var want ledger.Filter
	var given []string
	filters := desk.Desk{Now: a.now}
	for _, part := range []string{"site", "staff", "condition", "state", "from", "before"} {
		f.Func(part, "", func(text string) (err error) {
			given = append(given, part+" "+text)
			want, err = filters.Narrow(context.Background(), want, part+" "+text)
			return err
		})
	}
	f.BoolVar(&want.Attention, "attention", false, "")
	f.BoolVar(&want.Differs, "differs", false, "")
	f.BoolVar(&want.Overdue, "overdue", false, "")
	data := f.String("data", "", "")
	return func(c *cobra.Command, _ []string) error {
		form := map[string]func(io.Writer, report.Visits, time.Time) error{"csv": report.CSV, "jsonl": report.JSONLines, "html": a.overview}[*format]
		want.Today = ledger.Day(a.now())
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		l, err := a.openLedger(ctx, *where, *data, toRead)
		if err != nil {
			return err
		}
		filters.Ledger = l // now that names can be looked up
		for _, text := range given {
			if want, err = filters.Narrow(ctx, want, text); err != nil {
				return errors.Join(inputError{fmt.Errorf("ampwalk report: %w", err)}, l.Close())
			}
		}
		fill := func(w io.Writer) error { return form(w, l.Rows(ctx, want, ledger.Oldest), a.now()) }
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
}

// overview writes the overview as HTML.
func (a *app) overview(w io.Writer, visits report.Visits, at time.Time) error {
	d, err := report.Overview(visits, at)
	if err != nil {
		return err
	}
	_, err = io.WriteString(w, d.HTML(a.usualPaper()))
	return err
}
