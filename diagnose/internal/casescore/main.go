package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
)

func main() {
	debug.SetGCPercent(belief.GCPercent)
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}

func run(args []string, stdout, stderr io.Writer) int {
	fs := flag.NewFlagSet("casescore", flag.ContinueOnError)
	fs.SetOutput(stderr)
	verbose := fs.Bool("v", false, "print every case")
	only := fs.String("only", "", "run one case")
	sparing := fs.Bool("economy", false, "print instead how many readings it takes")
	find := fs.Bool("places", false, "print instead how often the part at fault is found")
	quick := fs.Bool("quick", false, "print instead what a quick round keeps of it")
	walks := fs.Bool("visits", false, "print instead how long visits are")
	seed := fs.Uint64("seed", 1, "of the plants that -places invents")
	fs.Usage = func() {
		fmt.Fprintln(stderr, "usage: casescore [-v] [-only ID] [-economy] [-quick] FOLDER\n       casescore -visits\n       casescore -places [-seed N] [FOLDER]")
		fs.PrintDefaults()
	}
	if err := fs.Parse(args); err != nil || fs.NArg() > 1 || fs.NArg() == 0 && !*find && !*walks {
		if err == nil {
			fs.Usage()
		}
		return 2
	}
	if *find {
		if err := places(fs.Arg(0), *seed, stdout); err != nil {
			fmt.Fprintln(stderr, "casescore:", err)
			return 1
		}
		return 0
	}
	if *walks {
		if err := visits(stdout); err != nil {
			fmt.Fprintln(stderr, "casescore:", err)
			return 1
		}
		return 0
	}
	cases, err := load(fs.Arg(0), *only)
	if err != nil {
		fmt.Fprintln(stderr, "casescore:", err)
		return 1
	}
	if *quick {
		rounds, err := quickRounds(cases, stderr)
		if err != nil {
			fmt.Fprintln(stderr, "casescore:", err)
			return 1
		}
		fmt.Fprint(stdout, roundTable(rounds))
		return 0
	}
	if *sparing {
		table, err := economy(cases, stderr)
		if err != nil {
			fmt.Fprintln(stderr, "casescore:", err)
			return 1
		}
		fmt.Fprint(stdout, table)
		return 0
	}
	judged := judge(cases)
	for _, j := range judged {
		if j.err != nil {
			fmt.Fprintf(stderr, "casescore: case %s: %v\n", j.id, j.err)
			return 1
		}
		if *verbose {
			fmt.Fprintln(stdout, j)
		}
	}
	fmt.Fprint(stdout, tally(judged))
	return 0
}

// A judgement is a case with what the diagnosis made of it.
type judgement struct {
	knownCase
	result *belief.Result
	took   time.Duration
	err    error
}

func judge(cases []knownCase) []judgement {
	out := make([]judgement, len(cases))
	for i, c := range cases {
		start := time.Now()
		r, err := belief.Infer(c.input)
		out[i] = judgement{c, r, time.Since(start), err}
	}
	return out
}

// rank of the true condition, from 0; of two the worse.
func (j *judgement) rank() int {
	worst := 0
	for _, id := range j.truth.Conditions {
		worst = max(worst, slices.IndexFunc(j.result.Conditions, func(p belief.Posterior) bool { return p.ID == id }))
	}
	return worst
}

func (j judgement) String() string {
	var b strings.Builder
	mark := " "
	if j.rank() >= len(j.truth.Conditions) {
		mark = "x"
	}
	fmt.Fprintf(&b, "%s %s %-36s", mark, j.id, join(j.truth.Conditions))
	for _, p := range j.result.Conditions[:3] {
		fmt.Fprintf(&b, " %s %.3f,", p.ID, p.P)
	}
	s := j.result.State
	fmt.Fprintf(&b, " charge %.2f (%.2f %.2f to %.2f)", j.truth.State.ChargeLevel, s.ChargeLevel.Mean, s.ChargeLevel.P05, s.ChargeLevel.P95)
	for _, x := range j.result.Suspects {
		if x.P > 0.3 {
			fmt.Fprintf(&b, " ?%s %.2f", x.Reading, x.P)
		}
	}
	fmt.Fprintf(&b, " | %s %v, %d ms", j.truth.Note, j.truth.Suspect, j.took.Milliseconds())
	return b.String()
}

func join(ids []condition.ID) string {
	s := make([]string, len(ids))
	for i, id := range ids {
		s[i] = string(id)
	}
	return strings.Join(s, "+")
}
