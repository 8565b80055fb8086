package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// counting is a memory in a new folder, with how often it had to infer.
func counting(t *testing.T) (m memory, inferred *int) {
	inferred = new(int)
	return memory{dir: filepath.Join(t.TempDir(), "new"), infer: func(in belief.Input) (*belief.Result, error) {
		*inferred++
		return &belief.Result{
			Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.1 + in.Readings.Numbers[reading.ArrayV]/300}},
			State:      belief.State{HoursToCut: belief.Interval{Mean: math.NaN(), P05: 1e-300, P95: math.Inf(1)}},
			Expect:     map[reading.Key]belief.Range{reading.OpenV: {Lo: 1. / 3, Hi: 20}},
			Array:      &belief.Curve{Volts: []float64{0, 1}, Amps: []float64{5, 4}},
		}, nil
	}}, inferred
}

func inputOf(v float64) belief.Input {
	set := reading.NewSet()
	set.Numbers[reading.ArrayV] = v
	set.TakenAt = time.Date(2026, 3, 14, 11, 0, 0, 0, time.UTC)
	return belief.Input{Site: site.Demo(), Readings: set}
}

// same compares results to the last bit: NaN is no different from itself here.
func same(t *testing.T, want, got *belief.Result) {
	t.Helper()
	require.NotNil(t, got)
	text := func(r belief.Result) string {
		curve := *r.Array
		r.Array = nil
		return fmt.Sprintf("%+v %+v", r, curve)
	}
	assert.Equal(t, text(*want), text(*got))
}

func TestMemoryGivesWhatWasInferred(t *testing.T) {
	m, inferred := counting(t)
	in := inputOf(12)
	first, err := m.Infer(in)
	require.NoError(t, err)
	again, err := m.Infer(belief.Input{Site: site.Demo(), Readings: in.Readings.Clone()})
	require.NoError(t, err)
	same(t, first, again)
	assert.Equal(t, 1, *inferred)
	for i, change := range []func(*belief.Input){
		func(in *belief.Input) { in.Readings.Numbers[reading.ArrayV] = math.Nextafter(12, 13) },
		func(in *belief.Input) { in.Readings.TakenAt = in.Readings.TakenAt.Add(time.Nanosecond) },
		func(in *belief.Input) { in.Readings.NotTaken = []reading.Key{reading.OpenV} },
		func(in *belief.Input) { in.Site.Battery.CapacityAh++ },
		func(in *belief.Input) { in.Site.Doubts = site.Doubts{"array.module.voc_v": 1} },
	} {
		other := inputOf(12)
		change(&other)
		_, err = m.Infer(other)
		require.NoError(t, err)
		assert.Equal(t, i+2, *inferred, "another input")
	}
}

// A file that is not as it was written is as good as none.
func TestMemoryOfBrokenFiles(t *testing.T) {
	m, inferred := counting(t)
	in := inputOf(12)
	first, err := m.Infer(in)
	require.NoError(t, err)
	name, ok := m.name(in)
	require.True(t, ok)
	whole, err := os.ReadFile(name)
	require.NoError(t, err)
	for i := range whole {
		broken := append([]byte{}, whole...)
		broken[i] ^= 0x20
		for _, text := range [][]byte{broken, whole[:i]} {
			require.NoError(t, os.WriteFile(name, text, 0o600))
			_, err := recall(name)
			require.Error(t, err, "byte %d", i)
		}
	}
	got, err := m.Infer(in)
	require.NoError(t, err)
	same(t, first, got)
	assert.Equal(t, 2, *inferred)
	mended, err := os.ReadFile(name)
	require.NoError(t, err)
	assert.Equal(t, whole, mended, "written anew")
}

func TestMemoryWithoutAFolder(t *testing.T) {
	m, inferred := counting(t)
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	for i, dir := range []string{"", filepath.Join(file, "below")} {
		m.dir = dir
		_, err := m.Infer(inputOf(12))
		require.NoError(t, err)
		assert.Equal(t, i+1, *inferred)
		m.forget(0)
	}
}

func TestMemoryForgets(t *testing.T) {
	m, _ := counting(t)
	for v := range 5 {
		_, err := m.Infer(inputOf(float64(v)))
		require.NoError(t, err)
		name, _ := m.name(inputOf(float64(v)))
		at := time.Unix(int64(1000-v), 0) // the later ones are the older ones
		require.NoError(t, os.Chtimes(name, at, at))
	}
	other := filepath.Join(m.dir, "letter.txt")
	require.NoError(t, os.WriteFile(other, nil, 0o600))
	require.NoError(t, os.Chtimes(other, time.Unix(0, 0), time.Unix(0, 0)))
	m.forget(3)
	for v := range 5 {
		name, _ := m.name(inputOf(float64(v)))
		if v < 3 {
			assert.FileExists(t, name)
		} else {
			assert.NoFileExists(t, name)
		}
	}
	assert.FileExists(t, other, "it is not ours")
}
