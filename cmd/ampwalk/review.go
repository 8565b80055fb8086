package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/signature"
	"ampwalk/tui"
	"ampwalk/tui/plain"
)

// review is the desk of a supervisor.
func (a *app) review(f *pflag.FlagSet) action {
	where := f.String("ledger", "", "")
	namesFile := f.String("names", "", "")
	keyFile := f.String("key", "", "")
	passphrase := f.String("passphrase-file", "", "")
	plain := f.Bool("plain", false, "")
	again := f.Bool("again", false, "")
	data := f.String("data", "", "")
	return func(_ *cobra.Command, _ []string) error {
		names, err := a.readNames(*namesFile, *data)
		if err != nil {
			return err
		}
		path, err := a.keyPath(*keyFile, *data)
		if err != nil {
			return err
		}
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		l, err := a.openLedger(ctx, *where, *data, toWrite)
		if err != nil {
			return err
		}
		m := a.remembering()
		d := &desk.Desk{Ledger: l, Names: names, Infer: m.Infer, Afresh: a.infer, Engine: engine(), Now: a.now}
		switch {
		case *again:
			err = a.lookAgain(ctx, d)
		case a.fullScreen(*plain) && *passphrase == "":
			err = a.reviewOnScreen(ctx, d, path, *data)
		default:
			err = a.reviewByLine(ctx, d, func() (signature.Key, error) { return a.openKey(path, *passphrase) })
		}
		m.forget(maxRemembered)
		return errors.Join(err, l.Close())
	}
}

// lookAgain looks with the engine of today at all that wait for a decision.
func (a *app) lookAgain(ctx context.Context, d *desk.Desk) error {
	seen, differ := 0, 0
	defer func() {
		a.printLine(words().Review.Analysed.Of(seen, d.Engine, differ))
	}()
	for {
		r, err := d.LookAgain(ctx)
		switch {
		case ctx.Err() != nil:
			return errInterrupted
		case err != nil || r == nil:
			return err
		}
		seen++
		if r.Again.Differs {
			differ++
		}
		if r.Again.Differs || r.Again.Problem != "" {
			a.printLine(plaintext.Clean(r.Digest.ID + ": " + d.AgainText(*r)))
		}
	}
}

// reviewOnScreen is the desk on the full screen.
func (a *app) reviewOnScreen(ctx context.Context, d *desk.Desk, keyPath, data string) error {
	dir, err := a.dataDir(data)
	if err != nil {
		return err
	}
	remembered, err := readSettings(dir)
	if err != nil {
		a.warn(err.Error())
	}
	err = tui.RunDesk(tui.Options{
		Signs: tui.SignsOf(a.getenv, runtime.GOOS), Colors: tui.EightColors(a.getenv), NoColor: tui.NoColor(a.getenv), Theme: remembered.theme(a.getenv),
		Remember: func(t tui.Theme) error { return settings{Theme: t}.write(dir) },
		Now:      a.now, Input: a.stdin, Output: a.stdout,
	}, &tui.DeskWork{Desk: d, Context: ctx, OpenKey: func(passphrase []byte) (signature.Key, error) {
		sealed, err := read(keyPath)
		if err != nil {
			return signature.Key{}, err
		}
		return signature.Open(sealed, passphrase)
	}})
	if errors.Is(err, tea.ErrInterrupted) {
		return errInterrupted
	}
	return err
}

// reviewByLine is the desk line by line. An interrupt ends it at once: what was
// confirmed is in the ledger.
func (a *app) reviewByLine(ctx context.Context, d *desk.Desk, open func() (signature.Key, error)) error {
	var opened *signature.Key
	ended := make(chan error, 1)
	go func() {
		ended <- plain.Desk(ctx, plain.DeskOptions{
			Desk: d, In: a.stdin, Out: a.stdout, Width: a.lineWidth(),
			Key: func() (signature.Key, error) { // the passphrase is asked for once
				if opened == nil {
					k, err := open()
					if err != nil {
						return k, err
					}
					opened = &k
				}
				return *opened, nil
			},
		})
	}()
	select {
	case <-ctx.Done():
		fmt.Fprintln(a.stderr, "\nampwalk: "+words().Failed.Interrupted)
		return errInterrupted
	case err := <-ended:
		return err
	}
}
