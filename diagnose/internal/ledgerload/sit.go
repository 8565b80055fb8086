package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	_ "ampwalk/cmd/ampwalk/background" // before bubbletea
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/office/desk"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/signature"
	"ampwalk/tui"
)

// sit works at the desk of a ledger as a supervisor would, with the real inference, and
// prints how much memory the program needs for it. The keys are those of the desk: lists
// scrolled in every order and under filters, visits opened and walked, trends.
func (o options) sit(ctx context.Context, where string, stdout io.Writer) error {
	l, err := ledger.Open(ctx, where, func() time.Time { return until })
	if err != nil {
		return err
	}
	d := &desk.Desk{Ledger: l, Infer: belief.Infer, Afresh: belief.Infer, Engine: anEngine, Now: func() time.Time { return until }}
	work := &tui.DeskWork{Desk: d, Context: ctx, OpenKey: func([]byte) (signature.Key, error) { return signature.Key{}, signature.ErrPassphrase }}
	in, keys := io.Pipe()
	go func() {
		typeKeys(keys)
		keys.Close()
	}()
	err = tui.RunDesk(tui.Options{Input: in, Output: io.Discard, Now: d.Now, Remember: func(tui.Theme) error { return nil }}, work)
	if err = errors.Join(err, l.Close()); err != nil {
		return err
	}
	if most, ok := memory(); ok {
		fmt.Fprintf(stdout, "%s: %d MB resident at most at the desk\n", kindOf(where), most>>20)
	}
	return nil
}

// The keys as a terminal sends them.
const (
	down, up, right    = "\x1b[B", "\x1b[A", "\x1b[C"
	home, end          = "\x1b[H", "\x1b[F"
	enter, escape      = "\r", "\x1b"
	only, trends, quit = "\x1bOQ", "\x1bOS", "\x03"
)

// typeKeys types at the pace of an impatient person.
func typeKeys(to io.Writer) {
	const (
		quick = 10 * time.Millisecond
		look  = 700 * time.Millisecond // for what takes an inference
	)
	press := func(pause time.Duration, keys ...string) {
		for _, k := range keys {
			if _, err := io.WriteString(to, k); err != nil {
				return // the desk was left
			}
			time.Sleep(pause)
		}
	}
	for _, filter := range []string{"none", "attention", "state handed in", "condition battery-worn", "overdue", "none", "differs"} {
		press(quick, only)
		press(quick, filter)
		press(look, enter)
		for range 4 {
			press(quick, slices.Repeat([]string{down}, 250)...)
			press(look, end)
			press(quick, slices.Repeat([]string{up}, 60)...)
			press(look, home, right)
		}
		press(look, enter)
		press(look, slices.Repeat([]string{down}, 12)...)
		press(look, trends, down, escape, escape)
	}
	press(look, quit)
}
