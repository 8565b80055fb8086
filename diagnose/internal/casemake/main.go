package main

import (
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
)

func main() { os.Exit(run(os.Args[1:], os.Stderr)) }

// archiveName is the file of a set in its folder.
const archiveName = "cases.txtar"

func run(args []string, stderr io.Writer) int {
	fs := flag.NewFlagSet("casemake", flag.ContinueOnError)
	fs.SetOutput(stderr)
	count := fs.Int("n", 300, "how many cases")
	seed := fs.Uint64("seed", 1, "what all is drawn from")
	parts := fs.Bool("parts", false, "sites with inverters, battery strings, chargers and earthing")
	fs.Usage = func() {
		fmt.Fprintln(stderr, "usage: casemake [-n N] [-seed S] [-parts] OUT")
		fs.PrintDefaults()
	}
	if err := fs.Parse(args); err != nil || fs.NArg() != 1 || *count < 1 {
		if err == nil {
			fs.Usage()
		}
		return 2
	}
	cases, err := makeAll(*seed, *count, *parts, stderr)
	if err == nil {
		err = save(fs.Arg(0), fmt.Sprintf("casemake -n %d -seed %d -parts=%t\n", *count, *seed, *parts), cases)
	}
	if err != nil {
		fmt.Fprintln(stderr, "casemake:", err)
		return 1
	}
	return 0
}

func save(folder, comment string, cases []*made) error {
	if err := os.MkdirAll(folder, 0o755); err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(folder, archiveName), archive(comment, cases), 0o644)
}

// makeAll makes the cases, as many at a time as there are processors.
func makeAll(seed uint64, count int, parts bool, progress io.Writer) ([]*made, error) {
	cases := make([]*made, count)
	var next, done atomic.Int64
	workers := runtime.GOMAXPROCS(0)
	errs := make([]error, workers)
	var wg sync.WaitGroup
	for w := range workers {
		wg.Go(func() {
			errs[w] = oneByOne(count, &next, func(sp *spice, k int) (err error) {
				cases[k], err = makeCase(sp, seed, k, parts)
				if n := done.Add(1); n%10 == 0 {
					fmt.Fprintf(progress, "%d of %d\n", n, count)
				}
				return err
			})
		})
	}
	wg.Wait()
	return cases, errors.Join(errs...)
}

// oneByOne takes the next number until there are no more, with a simulator of its own.
func oneByOne(count int, next *atomic.Int64, do func(*spice, int) error) error {
	dir, err := os.MkdirTemp("", "casemake")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	sp, err := newSpice(dir)
	if err != nil {
		return err
	}
	for {
		k := int(next.Add(1)) - 1
		if k >= count {
			return nil
		}
		if err := do(sp, k); err != nil {
			return err
		}
	}
}
