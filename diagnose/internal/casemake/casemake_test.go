package main

import (
	"io"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/tools/txtar"

	"ampwalk/diagnose/base/effort"
)

// needSpice skips a test where the simulator is missing, but not where all outside
// programs are required.
func needSpice(tb testing.TB) *spice {
	tb.Helper()
	if testing.Short() {
		tb.Skip("another program works for a minute")
	}
	if _, err := exec.LookPath("ngspice"); err != nil && !effort.All() {
		tb.Skip("ngspice is not installed")
	}
	sp, err := newSpice(tb.TempDir())
	require.NoError(tb, err)
	return sp
}

// The same seed gives the same bytes, and they are those of the sets.
func TestSameSeedSameBytes(t *testing.T) {
	needSpice(t)
	for _, set := range sets {
		first, err := makeAll(set.seed, 3, set.parts, io.Discard)
		require.NoError(t, err)
		again, err := makeAll(set.seed, 3, set.parts, io.Discard)
		require.NoError(t, err)
		assert.Equal(t, archive("", first), archive("", again))
		kept, err := txtar.ParseFile(filepath.Join(set.folder, archiveName))
		require.NoError(t, err)
		for k, f := range txtar.Parse(archive("", first)).Files {
			assert.Equal(t, kept.Files[k].Name, f.Name)
			assert.Equal(t, string(kept.Files[k].Data), string(f.Data), "%s: %s", set.folder, f.Name)
		}
		other, err := makeAll(set.seed+1, 1, set.parts, io.Discard)
		require.NoError(t, err)
		assert.NotEqual(t, first[0].readings, other[0].readings)
	}
}

// A sound plant keeps all limits of the table of conditions in the file formats; the
// figures here are copied from it once more.
func TestSoundPlantsKeepTheLimits(t *testing.T) {
	sp := needSpice(t)
	sound := 0
	for k := range effort.Of(0, 24, 60) {
		m, err := makeCase(sp, 77, k, k%2 == 0)
		require.NoError(t, err)
		w := m.world
		if len(w.conditions) > 0 {
			continue
		}
		sound++
		assert.Equal(t, fault{}, w.fault)
		assert.LessOrEqual(t, w.array.soiling, 0.07)
		for _, ohm := range []float64{w.array.joint, w.battJ, w.loadJ, w.inverterJ} {
			assert.LessOrEqual(t, ohm, 0.020)
		}
		assert.LessOrEqual(t, w.store.wear, 1.8)
		assert.GreaterOrEqual(t, w.store.part, 0.8)
		held := w.site.Control.AbsorbV
		switch w.stage {
		case "float":
			held = w.site.Control.FloatV
		case "equalise":
			held = w.site.Battery.EqualiseV
		}
		held += w.site.Control.CompMV / 1000 * float64(w.site.NominalV) / 2 * (w.batteryC - 25)
		assert.InDelta(t, held, w.setPoint(), 0.15*w.site.twelves()+1e-9)
		assert.Less(t, w.values(m).leaks, 0.05)
	}
	assert.Greater(t, sound, 5)
}

// balance is what the meters would show without error of where the current goes.
type balance struct{ in, out, leaks float64 }

func (w *world) values(m *made) (b balance) {
	v, own := m.found.values, w.site.Control.OwnUseMA/1000*w.own
	b.in = v["array_a"] + v["charger_a"]
	b.out = v["battery_a"] + v["load_a"] + own
	if w.site.Inverter != nil && w.site.Inverter.From == fromBattery {
		b.out += v["inverter_a"]
	}
	b.leaks = v["standby_a"] - own
	if m.found.stand.inverter && w.standbyOn {
		b.leaks = 0
	}
	return b
}

// What comes from the array goes into battery, loads, the controller itself and what it
// measures the array's voltage with: to 2 mA
// where a pulse's mean is not in between.
func TestCurrentsBalance(t *testing.T) {
	sp := needSpice(t)
	balanced := 0
	for k := range effort.Of(0, 40, 120) {
		m, err := makeCase(sp, 78, k, k%2 == 0)
		require.NoError(t, err)
		w, f := m.world, m.found
		beside := slices.ContainsFunc(w.site.Loads, func(l load) bool {
			return w.site.source(l) == fromBattery && w.site.Control.Output && slices.Contains(w.loadsOn, l.Label)
		})
		if beside || w.site.Control.Kind == shuntKind || w.fault.drainA > 0 || w.fault.reversed || !f.stand.powered || w.fault.batteryOpen || w.fault.packOff {
			continue
		}
		b := w.values(m)
		if w.site.Control.Kind == mpptKind {
			watts := f.values["array_v"] * f.values["array_a"]
			if watts > 0.5 && f.charging {
				assert.InDelta(t, watts*w.efficiency/f.values["battery_v"], b.out-f.values["charger_a"], 0.004*b.out+0.01, "%v", m.notebook.w.conditions)
				balanced++
			}
			continue
		}
		assert.InDelta(t, b.in, b.out+f.values["array_v"]/w.array.sense, 0.002, "%v, %s", w.conditions, w.kind)
		balanced++
	}
	assert.Greater(t, balanced, 10)
}
