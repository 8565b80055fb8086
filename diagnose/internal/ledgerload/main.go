package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"time"

	"ampwalk/diagnose/field/record"
	"ampwalk/diagnose/office/ledger"
	"ampwalk/scenarios"
)

func main() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) }

// until is the day that the programme has come to.
var until = time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)

// options are what was said on the command line.
type options struct {
	visits, files int
	seed          uint64
	measure, desk bool
	brief         bool
}

func run(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("ledgerload", flag.ContinueOnError)
	fs.SetOutput(stderr)
	var o options
	fs.IntVar(&o.visits, "visits", 100_000, "how many visits the ledger shall have")
	fs.IntVar(&o.files, "files", 5_000, "how many more are handed in from files, to measure that")
	fs.Uint64Var(&o.seed, "seed", 1, "of the programme")
	fs.BoolVar(&o.measure, "measure", false, "only measure lists and opening")
	fs.BoolVar(&o.brief, "brief", false, "only fill and hand in")
	fs.BoolVar(&o.desk, "desk", false, "only sit at the desk, which takes minutes, to measure its memory")
	fs.Usage = func() {
		fmt.Fprintln(stderr, "usage: ledgerload [flags] WHERE...")
		fs.PrintDefaults()
	}
	if err := fs.Parse(args); err != nil || fs.NArg() == 0 {
		if err == nil {
			fs.Usage()
		}
		return 2
	}
	if err := o.all(fs.Args(), stdout, stderr); err != nil {
		fmt.Fprintln(stderr, "ledgerload:", err)
		return 1
	}
	return 0
}

func (o options) all(ledgers []string, stdout, stderr io.Writer) error {
	ctx := context.Background()
	if only := map[bool]func(context.Context, string, io.Writer) error{o.measure: o.measureIn, o.desk: o.sit}[true]; only != nil {
		for _, where := range ledgers {
			if err := only(ctx, where, stdout); err != nil {
				return err
			}
		}
		return nil
	}
	list, err := courses(scenarios.Embedded())
	if err != nil {
		return err
	}
	p, err := newProgramme(o.visits, o.seed, until, list)
	if err != nil {
		return err
	}
	for _, where := range ledgers {
		if err := p.fill(ctx, where, stdout, stderr); err != nil {
			return err
		}
		if err := p.fromFiles(ctx, where, o.files, stdout); err != nil {
			return err
		}
		if o.brief {
			continue
		}
		// Programs of their own, so that what they need of memory is theirs alone.
		self, err := os.Executable()
		if err != nil {
			return err
		}
		for _, part := range []string{"-measure", "-desk"} {
			c := exec.Command(self, part, "-visits", fmt.Sprint(o.visits), "-seed", fmt.Sprint(o.seed), where)
			c.Stdout, c.Stderr = stdout, stderr
			if err := c.Run(); err != nil {
				return err
			}
		}
	}
	return nil
}

// portion is how many visits are handed in at a time.
const portion = 20_000

// What an engine of a later day has looked at.
const (
	anEngine    = "a later build"
	maxSeen     = 5_000 // visits that wait for a decision
	differShare = 0.1   // of them
)

// fill hands in what the ledger does not have yet.
func (p *programme) fill(ctx context.Context, where string, stdout, stderr io.Writer) error {
	l, err := ledger.Open(ctx, where, func() time.Time { return p.until })
	if err != nil {
		return err
	}
	from, err := l.Count(ctx, ledger.Filter{}, p.visits)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	from -= from % portion // the last portion may have been broken off
	begun, done := time.Now(), 0
	for i := from; i < p.visits; i += portion {
		before := min(i+portion, p.visits)
		if err := p.handIn(ctx, l, i, before); err != nil {
			return errors.Join(err, l.Close())
		}
		done = before - from
		fmt.Fprintf(stderr, "%s: %d visits, %.0f a second\n", kindOf(where), before, float64(done)/time.Since(begun).Seconds())
	}
	if err := p.lookAgain(ctx, l); err != nil {
		return errors.Join(err, l.Close())
	}
	if done > 0 {
		fmt.Fprintf(stdout, "%s: %d visits made and handed in with their reviews, %.0f a second\n", kindOf(where), done, float64(done)/time.Since(begun).Seconds())
	}
	return l.Close()
}

// lookAgain keeps of some that wait for a decision what an engine of a later day might
// have made of them, without asking one: an inference a visit takes too long.
func (p *programme) lookAgain(ctx context.Context, l *ledger.Ledger) error {
	ids, err := l.Unseen(ctx, anEngine, maxSeen)
	if err != nil {
		return err
	}
	rng := rand.New(rand.NewPCG(p.seed, 3<<32))
	for _, id := range ids {
		v, err := l.Visit(ctx, id)
		if err != nil {
			return err
		}
		a := ledger.Again{Engine: anEngine, At: p.until, Condition: v.Digest.Condition, P: v.Digest.P}
		if a.Differs = rng.Float64() < differShare; a.Differs {
			c := pick(rng, p.plants[0])
			a.Condition, a.P = c.condition, c.p
		}
		if _, err := l.KeepAgain(ctx, v.Row, a); err != nil {
			return err
		}
	}
	return nil
}

func (p *programme) handIn(ctx context.Context, l *ledger.Ledger, from, before int) error {
	var bad error
	err := l.HandIn(ctx, p.files(from, before), p.names, func(o ledger.Outcome) {
		if o.Fate == ledger.SetAside && !o.Waits || o.Fate == ledger.Unread || o.Fate == ledger.Ignored {
			bad = fmt.Errorf("%s: %s", o.Name, o.Reason)
		}
	})
	return errors.Join(err, bad)
}

// fromFiles measures handing in visits that lie in a folder, which is what people do.
func (p *programme) fromFiles(ctx context.Context, where string, n int, stdout io.Writer) (err error) {
	if n == 0 {
		return nil
	}
	dir, err := os.MkdirTemp("", "ledgerload-*")
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, os.RemoveAll(dir)) }()
	var bytes int
	for i := range n {
		data, err := p.visit(p.visits + i)
		if err != nil {
			return err
		}
		bytes += len(data)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprint(i, record.Suffix)), data, 0o600); err != nil {
			return err
		}
	}
	l, err := ledger.Open(ctx, where, func() time.Time { return p.until })
	if err != nil {
		return err
	}
	begun, taken := time.Now(), 0
	err = l.HandIn(ctx, ledger.Files(os.DirFS(dir), ".", dir), p.names, func(o ledger.Outcome) {
		if o.Fate == ledger.TakenNew {
			taken++
		}
	})
	took := time.Since(begun)
	if err = errors.Join(err, l.Close()); err != nil {
		return err
	}
	if taken == 0 {
		return nil // they are in the ledger from an earlier run
	}
	_, err = fmt.Fprintf(stdout, "%s: hand-in of %d files of %.1f kB on average: %.0f a second\n", kindOf(where), taken, float64(bytes)/float64(n)/1e3, float64(taken)/took.Seconds())
	return err
}

func kindOf(where string) string {
	if ledger.IsURL(where) {
		return "PostgreSQL"
	}
	return "SQLite"
}
