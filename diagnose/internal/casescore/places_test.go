package main

import (
	"bytes"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/halfsplit"
	"ampwalk/diagnose/physics/site"
)

// Figures by hand: of a fuse's four plants three are reached, two of them right and one
// not sure, with 2, 3, 4 and 1 readings; a cable's one plant is named wrongly.
func TestPlacesTable(t *testing.T) {
	near, far := &halfsplit.Trial{Part: "load-fuse", Reached: true}, &halfsplit.Trial{Part: "load-fuse"}
	g := group{circuit: halfsplit.Load, fault: halfsplit.Open}
	fuse := halfsplit.Outcome{Named: "load-fuse", Among: true, Left: 1, Readings: 2}
	g.of("load-fuse").take(near, fuse)
	fuse.Readings = 3
	g.of("load-fuse").take(near, fuse)
	g.of("load-fuse").take(near, halfsplit.Outcome{Among: true, Left: 2, Readings: 4})
	g.of("load-fuse").take(far, halfsplit.Outcome{Among: true, Left: 2, Readings: 1})
	g.of("load-cable").take(&halfsplit.Trial{Part: "load-cable", Reached: true}, fuse)
	text := scores{g}.table()
	assert.Regexp(t, `load +open +load-fuse +4 +3 +66\.7 % +0\.0 % +33\.3 % +2\.50 +4\n`, text)
	assert.Regexp(t, `load +open +load-cable +1 +1 +0\.0 % +100\.0 % +0\.0 % +3\.00 +3\n`, text)
	assert.Regexp(t, `load +open +all +5 +4 +50\.0 % +25\.0 % +25\.0 % +2\.60 +4\n`, text)
	assert.Regexp(t, `worst: load-cable, open: right in 0\.0 % of 1\n`, text)
	assert.Regexp(t, `not reached: 1; the right part is among those left in 100\.0 %, another is named in 0\.0 %`, text)
}

// The same seed draws the same plants.
func TestPlacesAreRepeated(t *testing.T) {
	try := func(seed uint64) (list []halfsplit.Outcome) {
		rng := rand.New(rand.NewPCG(seed, 0))
		for range 20 {
			list = append(list, halfsplit.NewTrial(site.Demo(), halfsplit.Battery, halfsplit.Joint, rng).Run())
		}
		return list
	}
	assert.Equal(t, try(1), try(1))
	assert.NotEqual(t, try(1), try(2))
}

func TestPlacesArguments(t *testing.T) {
	var errors bytes.Buffer
	assert.Equal(t, 1, run([]string{"-places", t.TempDir()}, io.Discard, &errors))
	assert.Contains(t, errors.String(), "no site.toml")
	dir := filepath.Join(t.TempDir(), "1")
	require.NoError(t, os.Mkdir(dir, 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "site.toml"), []byte("name = 3"), 0o644))
	assert.Equal(t, 1, run([]string{"-places", filepath.Dir(dir)}, io.Discard, &errors))
	assert.Equal(t, 2, run(nil, io.Discard, &errors))
	assert.Equal(t, 2, run([]string{"-places", "one", "two"}, io.Discard, &errors))
}
