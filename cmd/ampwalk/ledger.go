package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"os"
	"os/signal"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/ledger"
)

// ledgerFile is the ledger, in the data folder unless said otherwise.
const ledgerFile = "visits.ledger"

// What a command does with a ledger.
type use int

const (
	toRead  use = iota // it may be in a place where nothing can be written
	toWrite            // it must be there
	toMake             // it is made where it is not there
)

// openLedger opens the ledger: as given, else as the environment says, else in the
// data folder.
func (a *app) openLedger(ctx context.Context, given, data string, what use) (*ledger.Ledger, error) {
	if given == "" {
		given = a.getenv("AMPWALK_LEDGER")
	}
	if given == "" {
		dir, err := a.dataDir(data)
		if err != nil {
			return nil, err
		}
		given = filepath.Join(dir, ledgerFile)
	}
	open := ledger.Open
	if what == toRead {
		open = ledger.OpenToRead
	}
	if ledger.IsURL(given) {
		return open(ctx, given, a.now)
	}
	if _, err := os.Stat(given); errors.Is(err, fs.ErrNotExist) {
		if what != toMake {
			return nil, inputError{fmt.Errorf(words().Wrong.NoLedger, plaintext.Clean(given))}
		}
		// Made here, nobody else can read it.
		if err := os.MkdirAll(filepath.Dir(given), 0o700); err != nil {
			return nil, err
		}
		f, err := os.OpenFile(given, os.O_WRONLY|os.O_CREATE, 0o600)
		if err != nil {
			return nil, err
		}
		if err := f.Close(); err != nil {
			return nil, err
		}
	}
	l, err := open(ctx, given, a.now)
	if err != nil || !l.Frozen() {
		return l, err
	}
	if rest, err := os.Stat(given + "-wal"); err == nil && rest.Size() > 0 {
		return nil, errors.Join(inputError{fmt.Errorf(words().Failed.HalfLedger, given)}, l.Close())
	}
	return l, nil
}

// ledgerVisit is one visit of a ledger, for a command.
func (a *app) ledgerVisit(command, where, data, id string) (v ledger.Visit, err error) {
	ctx := context.Background()
	l, err := a.openLedger(ctx, where, data, toRead)
	if err != nil {
		return v, err
	}
	v, err = l.Visit(ctx, id)
	if err = errors.Join(err, l.Close()); errors.Is(err, ledger.ErrNoVisit) {
		err = inputError{fmt.Errorf("ampwalk %s: %w", command, err)}
	}
	return v, err
}

// handIn brings files and folders of visits into the ledger.
func (a *app) handIn(f *pflag.FlagSet) action {
	where := f.String("ledger", "", "")
	namesFile := f.String("names", "", "")
	data := f.String("data", "", "")
	return func(_ *cobra.Command, args []string) error {
		for _, path := range args {
			if _, err := os.Stat(path); err != nil {
				return inputError{fmt.Errorf("ampwalk hand-in: %w", err)}
			}
		}
		names, err := a.readNames(*namesFile, *data)
		if err != nil {
			return err
		}
		ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
		defer stop()
		l, err := a.openLedger(ctx, *where, *data, toMake)
		if err != nil {
			return err
		}
		var t tally
		err = l.HandIn(ctx, filesOf(args), names, func(o ledger.Outcome) { t.add(a, o) })
		err = errors.Join(err, l.Close())
		a.printLine(t.String())
		for _, text := range t.exceptions {
			a.warn(text)
		}
		switch {
		case ctx.Err() != nil:
			return errInterrupted
		case err != nil:
			return fmt.Errorf(words().Failed.HandIn, err)
		case t.of[ledger.SetAside]-t.waits+t.of[ledger.Unread] > 0:
			return errors.New(words().Failed.NotAll)
		}
		return nil
	}
}

// filesOf are the files of all paths.
func filesOf(paths []string) iter.Seq2[ledger.Source, error] {
	return func(yield func(ledger.Source, error) bool) {
		for _, path := range paths {
			root, name := path, "."
			if info, err := os.Stat(path); err == nil && !info.IsDir() {
				root, name = filepath.Split(path)
			}
			for s, err := range ledger.Files(os.DirFS(filepath.Clean(root)), name, filepath.Clean(root)) {
				if !yield(s, err) {
					return
				}
			}
		}
	}
}

// A tally counts what became of files.
type tally struct {
	of    [ledger.Unread + 1]int
	waits int

	exceptions []string // told at the end, where they are seen
}

// add counts one file and says that it was taken in; what is wrong is told at the end.
func (t *tally) add(a *app, o ledger.Outcome) {
	t.of[o.Fate]++
	switch o.Fate {
	case ledger.TakenNew:
		a.tell(words().HandIn.New, nameOr(o))
	case ledger.TakenFurther:
		a.tell(words().HandIn.Further, o.ID)
	case ledger.Ignored:
		t.exceptions = append(t.exceptions, fmt.Sprintf(words().HandIn.Ignored, o.Name))
	case ledger.SetAside:
		if o.Waits {
			t.waits++
		}
		t.exceptions = append(t.exceptions, fmt.Sprintf(words().HandIn.QuarantinedFor, o.Name, o.Reason))
	case ledger.Unread:
		t.exceptions = append(t.exceptions, fmt.Sprintf(words().HandIn.NotReadFor, o.Name, o.Reason))
	}
}

func nameOr(o ledger.Outcome) string {
	if o.ID == "" {
		return o.Name
	}
	return o.ID
}

func (t tally) String() string {
	text := fmt.Sprintf(words().HandIn.Tally, t.of[ledger.TakenNew], t.of[ledger.TakenFurther], t.of[ledger.TakenSame]+t.of[ledger.TakenOlder])
	for _, part := range []struct {
		n    int
		what string
	}{
		{t.of[ledger.SetAside] - t.waits, words().HandIn.SetAside}, {t.waits, words().HandIn.Waiting}, {t.of[ledger.Ignored], words().HandIn.LeftAlone}, {t.of[ledger.Unread], words().HandIn.NotRead},
	} {
		if part.n > 0 {
			text += fmt.Sprintf(", %d %s", part.n, part.what)
		}
	}
	return text
}
