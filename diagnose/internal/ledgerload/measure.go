package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"gonum.org/v1/gonum/stat"

	"ampwalk/diagnose/office/ledger"
	"ampwalk/diagnose/office/review"
	"ampwalk/diagnose/physics/condition"
)

const (
	pageRows = 50  // of a list
	rounds   = 100 // of each kind of list
)

// A look is one kind of question, asked with other values each time.
type look struct {
	name string
	ask  func(*rand.Rand) ledger.Query
}

// measureIn asks a ledger and prints how long it took.
func (o options) measureIn(ctx context.Context, where string, stdout io.Writer) error {
	l, err := ledger.Open(ctx, where, func() time.Time { return until })
	if err != nil {
		return err
	}
	out := tabwriter.NewWriter(stdout, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintf(out, "%s, %d visits\tmedian ms\tp95 ms\tworst ms\t\n", kindOf(where), o.visits)
	rng := rand.New(rand.NewPCG(o.seed, 99))
	var all []time.Duration
	for _, k := range o.looks() {
		times, err := k.time(ctx, l, rng)
		if err != nil {
			return errors.Join(err, l.Close())
		}
		all = append(all, times...)
		row(out, k.name, times)
	}
	row(out, "any list", all)
	opening, counting, err := o.openings(ctx, l, rng)
	if err != nil {
		return errors.Join(err, l.Close())
	}
	row(out, "a count up to 10 000", counting)
	row(out, "opening a visit", opening)
	if err := errors.Join(out.Flush(), l.Close()); err != nil {
		return err
	}
	if most, ok := memory(); ok {
		fmt.Fprintf(stdout, "%s: %d MB resident at most while looking\n", kindOf(where), most>>20)
	}
	return nil
}

func row(out io.Writer, name string, times []time.Duration) {
	ms := make([]float64, len(times))
	for i, t := range times {
		ms[i] = t.Seconds() * 1e3
	}
	slices.Sort(ms)
	at := func(share float64) float64 { return stat.Quantile(share, stat.Empirical, ms, nil) }
	fmt.Fprintf(out, "%s\t%.2f\t%.2f\t%.2f\t\n", name, at(0.5), at(0.95), at(1))
}

// looks are lists with each filter, with several, and with all; each in any order
// and from any place.
func (o options) looks() []look {
	sites, staff := siteNames(max(20, o.visits/visitsPerSite)), staffNames(max(8, o.visits/visitsByOne))
	conditions := condition.All()
	filters := []struct {
		name string
		set  func(*rand.Rand, *ledger.Filter)
	}{
		{"site", func(r *rand.Rand, f *ledger.Filter) { f.Site = sites[skewed(r, len(sites))] }},
		{"staff", func(r *rand.Rand, f *ledger.Filter) { f.Staff = staff[skewed(r, len(staff))] }},
		{"dates", func(r *rand.Rand, f *ledger.Filter) {
			f.From = until.AddDate(0, 0, -r.IntN(years*365))
			f.Before = f.From.AddDate(0, 0, 1+r.IntN(90))
		}},
		{"condition", func(r *rand.Rand, f *ledger.Filter) { f.Condition = conditions[r.IntN(len(conditions))].ID }},
		{"state", func(r *rand.Rand, f *ledger.Filter) { f.State = review.States[r.IntN(len(review.States))] }},
		{"attention", func(r *rand.Rand, f *ledger.Filter) { f.Attention = true }},
		{"overdue", func(r *rand.Rand, f *ledger.Filter) { f.Overdue = true }},
		{"differs", func(r *rand.Rand, f *ledger.Filter) { f.Differs = true }},
	}
	place := func(r *rand.Rand, q *ledger.Query) {
		q.Today = until
		q.Order, q.Back, q.Limit = ledger.Order(r.IntN(4)), r.IntN(4) == 0, pageRows
		if r.IntN(2) == 0 {
			at := until.AddDate(0, 0, -r.IntN(years*365)).UnixMilli()
			q.After = ledger.Cursor{Level: r.IntN(4), Started: at, Due: at, ID: "m"}
		}
	}
	list := []look{{"no filter", func(r *rand.Rand) (q ledger.Query) {
		place(r, &q)
		return q
	}}}
	for _, f := range filters {
		list = append(list, look{f.name, func(r *rand.Rand) (q ledger.Query) {
			place(r, &q)
			f.set(r, &q.Filter)
			return q
		}})
	}
	return append(list, look{"two or more", func(r *rand.Rand) (q ledger.Query) {
		place(r, &q)
		for _, i := range r.Perm(len(filters))[:2+r.IntN(3)] {
			filters[i].set(r, &q.Filter)
		}
		return q
	}})
}

func (k look) time(ctx context.Context, l *ledger.Ledger, rng *rand.Rand) (times []time.Duration, err error) {
	for range rounds {
		q := k.ask(rng)
		begun := time.Now()
		if _, err := l.List(ctx, q); err != nil {
			return nil, fmt.Errorf("%s: %w", k.name, err)
		}
		times = append(times, time.Since(begun))
	}
	return times, nil
}

// openings opens visits from all over the ledger, and counts lists.
func (o options) openings(ctx context.Context, l *ledger.Ledger, rng *rand.Rand) (opening, counting []time.Duration, err error) {
	looks := o.looks()
	for range rounds {
		q := looks[rng.IntN(len(looks))].ask(rng)
		begun := time.Now()
		if _, err := l.Count(ctx, q.Filter, 10_000); err != nil {
			return nil, nil, err
		}
		counting = append(counting, time.Since(begun))

		at := ledger.Cursor{Started: until.AddDate(0, 0, -rng.IntN(years*365)).UnixMilli(), ID: "m"}
		page, err := l.List(ctx, ledger.Query{After: at, Limit: 1})
		if err != nil {
			return nil, nil, err
		}
		for _, r := range page {
			begun := time.Now()
			if _, err := l.Visit(ctx, r.Digest.ID); err != nil {
				return nil, nil, err
			}
			opening = append(opening, time.Since(begun))
		}
	}
	return opening, counting, nil
}

// memory is the most that the program had resident [bytes], where the system tells.
func memory() (most int64, ok bool) {
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, false
	}
	for line := range bytes.Lines(text) {
		if rest, found := strings.CutPrefix(string(line), "VmHWM:"); found {
			var kb int64
			_, err := fmt.Sscan(rest, &kb)
			return kb << 10, err == nil
		}
	}
	return 0, false
}
