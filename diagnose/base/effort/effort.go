// Package effort says how much a run of tests tries.
//
// There are three kinds of run. With -short a test tries a few cases, without it a fair
// number, and with AMPWALK_CI set all of them. With both, -short decides. Each run makes
// the same checks, and only the number of cases differs. Start with [Of] and [All].
//
// A test that imports this package gets the same random cases on every run, so that it
// never fails by chance on somebody's machine. With AMPWALK_CI the seed is free, and new
// cases are tried. The flag -rapid.seed and the variable RAPID_SEED still choose a seed.
package effort

import (
	"flag"
	"math/rand/v2"
	"os"
	"strconv"
	"testing"

	_ "pgregory.net/rapid" // has the flag that is set here
)

// Seed is where the random cases of a run begin: always the same number, unless All.
var Seed uint64 = 20261130

func init() {
	if All() {
		Seed = rand.Uint64()
		return
	}
	if f := flag.Lookup("rapid.seed"); f.DefValue == "0" {
		if err := f.Value.Set("20261130"); err != nil {
			panic(err)
		}
	}
}

// All reports whether everything is tried: AMPWALK_CI is set.
func All() bool { return os.Getenv("AMPWALK_CI") != "" }

// Of is the number of cases for this run, one of three. Tests call it, not package
// variables: whether a run is short is known only once the flags are read.
func Of(short, usual, all int) int {
	switch {
	case testing.Short():
		return short
	case All():
		return all
	}
	return usual
}

// Fewer lets this test draw so many cases by rapid, where it would draw its usual number,
// 100: for a test whose cases are dear. A number that somebody asked for stays. No other
// test may run beside it.
func Fewer(t *testing.T, usual int) {
	t.Helper()
	checks := flag.Lookup("rapid.checks")
	if All() || testing.Short() || checks.Value.String() != checks.DefValue {
		return
	}
	if err := checks.Value.Set(strconv.Itoa(usual)); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = checks.Value.Set(checks.DefValue) })
}
