package virtualsite

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// noonThere is noon by the sun at the demo site.
var noonThere = time.Date(2026, 11, 20, 11, 45, 0, 0, time.FixedZone("", 2*3600))

func setup(change func(*Setup)) Setup {
	s := Setup{
		Site: site.Demo(), At: noonThere, Weather: Weather{Share: 1, AirC: 27}, Unknowns: plant.Typical(),
		LoadsOn: []string{"ward lamps", "radio"}, Seed: 7,
	}
	s.Unknowns.SoC = 0.55
	if change != nil {
		change(&s)
	}
	return s
}

func looked(change func(*Setup)) *Bench {
	b := New(setup(change))
	for _, p := range Places {
		b.seen[p] = true
	}
	b.Zero()
	return b
}

func probe(t *testing.T, b *Bench, red, black string) Display {
	t.Helper()
	d, err := b.Probe(red, black)
	require.NoError(t, err)
	return d
}

func embrace(t *testing.T, b *Bench, wire string, turned bool) Display {
	t.Helper()
	d, err := b.Embrace(wire, turned)
	require.NoError(t, err)
	return d
}

// Every reading as found is the plant's value within the limits of error of the
// instrument that shows it.
func TestReadingsAreThePlantsWithinLimits(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		b := looked(func(s *Setup) {
			s.Seed = rapid.Uint64().Draw(rt, "seed")
			s.Unknowns.SoC = rapid.Float64Range(0.1, 0.99).Draw(rt, "charge")
			s.Weather.Share = rapid.Float64Range(0, 1.05).Draw(rt, "share")
			s.At = s.At.Add(time.Duration(rapid.IntRange(0, 24*60).Draw(rt, "minutes")) * time.Minute)
		})
		b.SetMeter(Meter{DCVolts, 200, VoltSocket})
		for pair, p := range pairs {
			if pair == "inverter" { // its site has none
				continue
			}
			x, floats := b.value(&b.solve().found, p.from)
			in := b.setup.Instruments[reading.Voltmeter]
			in.Resolution = 0.1 // of the 200 V range
			d := probe(t, b, pair+"+", pair+"-")
			if !floats && math.Abs(d.Value-x) > in.Limit(x)+0.05+1e-9 {
				rt.Fatalf("%s shows %g, the plant has %g", pair, d.Value, x)
			}
			if d.Reading != p.as {
				rt.Fatalf("%s is %q", pair, d.Reading)
			}
		}
		for wire, i := range map[string]plant.Index{"array-wire": plant.ArrayA, "battery-wire": plant.BatteryA, "load-wire": plant.LoadA} {
			x := b.solve().found.Value[i]
			limit := b.setup.Instruments[reading.Clamp].Limit(x) + 0.005 + 1e-9
			b.Zero() // its zero wanders off within minutes
			if d := embrace(t, b, wire, false); math.Abs(d.Value-x) > limit {
				rt.Fatalf("%s shows %g, the plant has %g", wire, d.Value, x)
			}
		}
	})
}

// What a meter shows of it is common practice.
func TestMeters(t *testing.T) {
	t.Run("range", func(t *testing.T) {
		b := looked(func(s *Setup) { s.Unknowns.Fault.ArrayOpen, s.Weather.AirC = plant.AfterPlug, 15 })
		b.SetMeter(Meter{DCVolts, 20, VoltSocket})
		assert.Equal(t, "OL", probe(t, b, "module+", "module-").Text, "more than the range")
		b.SetMeter(Meter{DCVolts, 200, VoltSocket})
		d := probe(t, b, "module+", "module-")
		assert.Regexp(t, `^\d\d\.\d V$`, d.Text)
		assert.InDelta(t, 20.5, d.Value, 1, "a 36-cell module in sun, open")
	})
	t.Run("sign", func(t *testing.T) {
		b := looked(nil)
		plus, minus := probe(t, b, "post+", "post-"), probe(t, b, "post-", "post+")
		assert.InDelta(t, plus.Value, -minus.Value, 0.25)
		in, out := embrace(t, b, "battery-wire", false), embrace(t, b, "battery-wire", true)
		assert.InDelta(t, in.Value, -out.Value, 0.3)
	})
	t.Run("clamp not zeroed", func(t *testing.T) {
		b := New(setup(nil))
		b.Look(AtController)
		stray := embrace(t, b, "both-array-wires", false)
		b.Zero()
		zeroed := embrace(t, b, "both-array-wires", false)
		assert.Greater(t, math.Abs(stray.Value), 0.1)
		assert.LessOrEqual(t, math.Abs(zeroed.Value), 0.06)
		assert.NotEmpty(t, zeroed.Note)
	})
	t.Run("ohms on a live circuit", func(t *testing.T) {
		b := looked(nil)
		b.SetMeter(Meter{Ohms, 20, VoltSocket})
		d := probe(t, b, "post+", "post-")
		assert.False(t, d.Shown)
		assert.Equal(t, "ohms-live", b.Breaches()[0].ID)
	})
	t.Run("wrong socket blows the meter's fuse", func(t *testing.T) {
		b := looked(nil)
		b.SetMeter(Meter{DCVolts, 20, AmpSocket})
		probe(t, b, "post+", "post-")
		require.Len(t, b.Breaches(), 1)
		assert.Equal(t, "meter-fuse", b.Breaches()[0].ID)
		assert.Equal(t, texts().FuseIsBlown, probe(t, b, "post+", "post-").Note)
	})
	t.Run("AC on a battery", func(t *testing.T) {
		b := looked(nil)
		b.SetMeter(Meter{ACVolts, 20, VoltSocket})
		assert.Less(t, probe(t, b, "post+", "post-").Value, 0.3)
	})
	t.Run("a pulsed array is shown as its mean", func(t *testing.T) {
		b := looked(func(s *Setup) { s.Unknowns.SoC, s.Unknowns.FloatStage, s.LoadsOn = 0.99, true, nil })
		require.True(t, b.solve().found.Regulating)
		b.SetMeter(Meter{DCVolts, 200, VoltSocket})
		mean := probe(t, b, "array+", "array-").Value
		assert.Greater(t, mean, b.solve().found.BusV+2, "some 3 to 6 V above the battery's (common practice)")
		b.SetMeter(Meter{ACVolts, 20, VoltSocket})
		assert.Greater(t, probe(t, b, "array+", "array-").Value, 0.5, "it alternates")
	})
	t.Run("between two parts", func(t *testing.T) {
		b := looked(func(s *Setup) { s.Unknowns.Fault.BatteryJoint, s.Weather.Share, s.LoadsOn = 0.3, 0, s.LoadsOn[1:] })
		d := probe(t, b, "post+", "controller-battery+")
		assert.InDelta(t, 0.15, d.Value, 0.05, "6 W at 12 V through 0.3 ohm: the drop of a bad joint shows across it")
		assert.Empty(t, d.Reading)
	})
}

// Time moves charge, light and the controller's stage.
func TestTimeMoves(t *testing.T) {
	b := looked(func(s *Setup) { s.LoadsOn = nil })
	charge, light := b.u.SoC, b.light()
	b.Wait(time.Hour)
	assert.Greater(t, b.u.SoC, charge+0.02, "an hour of sun")
	assert.Equal(t, 1, b.Moment())
	b.Wait(6 * time.Hour)
	assert.Less(t, b.light(), light/4, "evening")
	b.Wait(3 * time.Hour)
	_, looks := b.Look(AtArray)
	assert.Equal(t, "dark", looks[0].Word)
	assert.Len(t, looks, 1, "nobody sees dirt in the dark")

	full := looked(func(s *Setup) { s.Unknowns.SoC, s.LoadsOn = 0.97, nil })
	full.Wait(3 * time.Hour)
	assert.True(t, full.u.FloatStage, "a full battery is floated")

	night := looked(func(s *Setup) { s.At, s.Unknowns.SoC = s.At.Add(10*time.Hour), 0.12 })
	night.Wait(9 * time.Hour)
	assert.True(t, night.solve().found.LoadsCut, "cut off by the morning")
	assert.False(t, night.solve().found.LoadsLive)
}

// Readings of the isolated array and of the rested battery are those of the
// plant's tests.
func TestIsolatedAndRested(t *testing.T) {
	b := looked(nil)
	b.Ask()
	b.SwitchLoads(nil)
	assert.Equal(t, 1, b.Moment(), "loads changed as found")
	b.SwitchArray(true)
	assert.Equal(t, reading.Irradiance2, b.Light().Reading)
	b.SetMeter(Meter{DCVolts, 200, VoltSocket})
	d := probe(t, b, "array-side+", "array-side-")
	assert.Equal(t, reading.OpenV, d.Reading)
	assert.InDelta(t, b.solve().array.Value[plant.OpenV], d.Value, 0.5)
	assert.InDelta(t, 0, probe(t, b, "array+", "array-").Value, 4, "the controller's side floats")
	b.Short(true)
	short := embrace(t, b, "array-wire", false)
	assert.Equal(t, reading.ShortA, short.Reading)
	assert.InDelta(t, b.solve().array.Value[plant.ShortA], short.Value, 0.3)
	b.Short(false)
	assert.Equal(t, reading.StandbyA, embrace(t, b, "battery-wire", false).Reading)
	assert.Empty(t, probe(t, b, "post+", "post-").Reading, "not yet rested")
	b.Wait(40 * time.Minute)
	b.SetMeter(Meter{DCVolts, 20, VoltSocket})
	rest := probe(t, b, "post+", "post-")
	assert.Equal(t, reading.RestV, rest.Reading)
	b.SwitchLoads([]string{"ward lamps"})
	assert.Equal(t, reading.StepA, embrace(t, b, "battery-wire", false).Reading)
	step := probe(t, b, "post+", "post-")
	assert.Equal(t, reading.StepPostV, step.Reading)
	assert.Less(t, step.Value, rest.Value, "a load pulls the voltage down")
	b.SwitchLoads(nil)
	b.SwitchArray(false)
	assert.Empty(t, b.Breaches())
	assert.False(t, b.Put(), "the loads that were on are off")
	b.SwitchLoads(b.LoadsAsFound())
	assert.True(t, b.Put())
}

// Unsafe acts have their real consequence (common practice; makers' advice).
func TestUnsafeActs(t *testing.T) {
	tests := []struct {
		name string
		do   func(b *Bench)
		id   string
	}{
		{"array without battery", func(b *Bench) { b.SwitchArray(true); b.PullFuse(BatteryFuse, true); b.SwitchArray(false) }, "array-without-battery"},
		{"battery pulled with current", func(b *Bench) { b.PullFuse(BatteryFuse, true) }, "arc-battery"},
		{"array fuse under load", func(b *Bench) { b.PullFuse(ArrayFuse, true) }, "arc-array"},
		{"loads' fuse under load", func(b *Bench) { b.PullFuse(LoadFuse, true) }, "arc-loads"},
		{"short while connected", func(b *Bench) { b.Short(true) }, "short-connected"},
		{"connected while shorted", func(b *Bench) { b.SwitchArray(true); b.Short(true); b.SwitchArray(false) }, "shorted-connected"},
		{"loads off unasked", func(b *Bench) { b.SwitchLoads(nil) }, "not-asked"},
		{"acid", func(b *Bench) { b.Gravity() }, "acid"},
		{"not put back", func(b *Bench) { b.SwitchArray(true); b.Leave() }, "not-put-back"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := looked(nil)
			tt.do(b)
			var ids []string
			for _, x := range b.Breaches() {
				ids = append(ids, x.ID)
				assert.NotEmpty(t, x.Text)
			}
			assert.Contains(t, ids, tt.id)
		})
	}
	b := New(setup(nil))
	probe(t, b, "post+", "post-")
	assert.Equal(t, "not-looked", b.Breaches()[0].ID)

	b = looked(nil)
	b.SwitchArray(true)
	b.PullFuse(BatteryFuse, true)
	assert.Equal(t, "arc-battery", b.Breaches()[0].ID, "the loads were on")
	b = looked(nil)
	b.PullFuse(BatteryFuse, true)
	_, looks := b.Look(AtController)
	assert.Equal(t, "out", looks[2].Word, "the controller is destroyed")
	b.PullFuse(BatteryFuse, false)
	_, looks = b.Look(AtController)
	assert.Equal(t, "out", looks[1].Word, "and stays so")
}

// The same seed gives the same figures in any order of taking.
func TestSameSeedSameReadings(t *testing.T) {
	a, b := looked(nil), looked(nil)
	first := probe(t, a, "post+", "post-")
	probe(t, b, "array+", "array-")
	b.now, b.solved = b.setup.At, nil
	assert.Equal(t, first.Text, probe(t, b, "post+", "post-").Text)
	other := looked(func(s *Setup) { s.Seed = 8 })
	assert.NotEqual(t, a.clouds, other.clouds)
}

func TestQuirks(t *testing.T) {
	b := looked(func(s *Setup) { s.Quirks = []Quirk{{Reading: reading.PostV, Add: -1.5, Times: 1}} })
	first, again := probe(t, b, "post+", "post-"), probe(t, b, "post+", "post-")
	assert.InDelta(t, 1.5, again.Value-first.Value, 0.2)
}

func TestNoSuchPoint(t *testing.T) {
	b := looked(nil)
	_, err := b.Probe("post", "post-")
	assert.ErrorContains(t, err, `"post"`)
	_, err = b.Embrace("post+", false)
	assert.ErrorContains(t, err, "array-wire")
}
