package belief

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// doubting is the demo site with figures marked as assumed: the key and how far
// off it may be, alternating.
func doubting(t *testing.T, marks ...string) *site.Site {
	t.Helper()
	lines := strings.Split(string(site.DemoTOML()), "\n")
	for i := 0; i < len(marks); i += 2 {
		for k, line := range lines {
			if strings.HasPrefix(line, marks[i]+" = ") {
				line, _, _ = strings.Cut(line, "#")
				lines[k] = line + "# assumed, give or take " + marks[i+1]
			}
		}
	}
	s, err := site.Parse("demo", []byte(strings.Join(lines, "\n")))
	require.NoError(t, err)
	require.Len(t, s.Doubts, len(marks)/2)
	return s
}

// What was assumed widens what is said of it; what was read does not, by not a bit.
func TestAssumedFiguresWiden(t *testing.T) {
	long(t)
	width := func(i Interval) float64 { return i.P95 - i.P05 }
	sunny := set(at(12), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ModuleC: 50, reading.ArrayV: 14.5, reading.ArrayA: 1.2, reading.BatteryV: 14.4, reading.BatteryA: 0.4,
	})
	sunny.LoadsOn = []string{"ward lamps"}
	tests := []struct {
		name  string
		marks []string
		of    func(*Result) float64
		least float64 // times as wide
	}{
		{"voltage, by the open circuit", []string{"voc_v", "10 %"}, func(r *Result) float64 { return r.Expect[reading.OpenV].Hi - r.Expect[reading.OpenV].Lo }, 2},
		{"capacity, by the hours left", []string{"capacity_ah", "40 %"}, func(r *Result) float64 { return width(r.State.HoursToCut) / r.State.HoursToCut.Mean }, 1.04},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			read, err := Infer(Input{Site: site.Demo(), Readings: sunny})
			require.NoError(t, err)
			assumed, err := Infer(Input{Site: doubting(t, tt.marks...), Readings: sunny})
			require.NoError(t, err)
			t.Log(tt.of(read), tt.of(assumed))
			assert.Greater(t, tt.of(assumed), tt.least*tt.of(read))
		})
	}
}

// Off the set-point by half a volt is a fault where the manual was read, and may
// be a wrong guess where it was not.
func TestAssumedSetPointIsNoFault(t *testing.T) {
	long(t)
	high := set(at(13), map[reading.Key]float64{
		reading.Irradiance: 900, reading.BatteryC: 27, reading.ArrayV: 15.1, reading.ArrayA: 0.9, reading.BatteryV: 14.95, reading.BatteryA: 0.5, reading.PostV: 14.94,
	})
	read, err := Infer(Input{Site: site.Demo(), Readings: high})
	require.NoError(t, err)
	assumed, err := Infer(Input{Site: doubting(t, "absorb_v", "3 %"), Readings: high})
	require.NoError(t, err)
	t.Log(read.Of(condition.SetPointHigh), assumed.Of(condition.SetPointHigh))
	assert.Greater(t, read.Of(condition.SetPointHigh)+read.Of(condition.ChargePathStuck), 0.5)
	assert.Less(t, assumed.Of(condition.SetPointHigh), read.Of(condition.SetPointHigh)/2)
	assert.Greater(t, assumed.Of(condition.Sound), 2*read.Of(condition.Sound))
}

// A third less current than the label promises: the label may be the guess.
func TestAssumedCurrentIsNoFault(t *testing.T) {
	long(t)
	weak := set(at(12), map[reading.Key]float64{
		reading.Irradiance: 800, reading.ModuleC: 50, reading.ArrayV: 13.2, reading.ArrayA: 3.2, reading.BatteryV: 13, reading.BatteryA: 3,
		reading.LoadV: 12.99, reading.LoadA: 0.19, reading.LoadEndV: 12.97, // the loads are not in doubt
	})
	weak.Words[reading.Glass] = "clean"
	read, err := Infer(Input{Site: site.Demo(), Readings: weak})
	require.NoError(t, err)
	assumed, err := Infer(Input{Site: doubting(t, "isc_a", "30 %", "imp_a", "30 %"), Readings: weak})
	require.NoError(t, err)
	t.Log(read.Of(condition.Sound), assumed.Of(condition.Sound))
	assert.Less(t, read.Of(condition.Sound), 0.1)
	assert.Equal(t, condition.Sound, assumed.Leader().ID)
	assert.Greater(t, assumed.Of(condition.Sound), 0.5)
	assert.Greater(t, assumed.Of(condition.Sound), 5*read.Of(condition.Sound))
}

// An output that is off though the battery is above the reconnect voltage is
// open, unless that voltage is a guess.
func TestAssumedReconnectIsNoFault(t *testing.T) {
	long(t)
	off := set(at(20), map[reading.Key]float64{reading.BatteryV: 12.8, reading.PostV: 12.8, reading.LoadV: 0.01, reading.BatteryA: -0.02})
	read, err := Infer(Input{Site: site.Demo(), Readings: off})
	require.NoError(t, err)
	assumed, err := Infer(Input{Site: doubting(t, "restore_v", "0.5 V", "cut_v", "3 %"), Readings: off})
	require.NoError(t, err)
	t.Log(read.Of(condition.LoadOutputOpen), assumed.Of(condition.LoadOutputOpen))
	assert.Less(t, assumed.Of(condition.LoadOutputOpen), read.Of(condition.LoadOutputOpen)/3)
	assert.Greater(t, assumed.State.LoadsCut, read.State.LoadsCut)
}

func TestOrdinarySpreadsWithoutDoubt(t *testing.T) {
	s := site.Demo()
	require.Nil(t, s.Doubts)
	doubted := *s
	doubted.Doubts = site.Doubts{"place.tilt_deg": 10}
	assert.Equal(t, spreadsOf(s, nil), spreadsOf(&doubted, nil), "the light is free anyway")
	assert.Same(t, s, withCutDoubt(s))
}

// long skips a test of several inferences where each takes ten times as long.
func long(t *testing.T) {
	t.Helper()
	if testing.Short() {
		t.Skip("several inferences")
	}
}
