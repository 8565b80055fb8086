package summary

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// found is what was read at a site, in short.
type found struct {
	words   map[reading.Key]string
	numbers map[reading.Key]float64
	on      []string // loads; nil: not known
}

func (f found) infer(t *testing.T, s *site.Site) (*belief.Result, string) {
	t.Helper()
	if testing.Short() {
		t.Skip("an inference; package belief makes some in short tests")
	}
	set := reading.NewSet()
	set.LoadsOn = f.on
	for k, w := range f.words {
		set.Words[k] = w
	}
	for k, x := range f.numbers {
		set.Numbers[k] = x
	}
	in := belief.Input{Site: s, Readings: set}
	r, err := belief.Infer(in)
	require.NoError(t, err)
	return r, strings.Join(strings.Fields(OfReadings(in, r, Beside{}).Text()), " ")
}

type (
	w = map[reading.Key]string
	n = map[reading.Key]float64
)

// What every practitioner reads from a few figures; all of it common practice.
// The demo site: 12 V, two modules of 50 W in parallel, series controller, 80 Ah.
func TestCommonPractice(t *testing.T) {
	tests := []struct {
		name   string
		found  found
		leader condition.ID
		says   []string
	}{
		{
			"sun, battery not full: the array is at the battery's voltage and gives what the light gives",
			found{w{reading.Sky: "clear", reading.Shade: "none", reading.Glass: "clean"},
				n{reading.Irradiance: 800, reading.ModuleC: 48, reading.ArrayV: 13.2, reading.BatteryV: 13.05, reading.ArrayA: 4.65, reading.BatteryA: 4.6}, []string{}},
			condition.Sound,
			[]string{"Current from the array reaches the battery side", "The controller holds back nothing", "Wait with heavy loads until the controller holds back"},
		},
		{
			"nearly full: the array stands volts above the battery and gives little",
			found{w{reading.Sky: "clear", reading.Shade: "none"},
				n{reading.Irradiance: 800, reading.ModuleC: 48, reading.ArrayV: 19.5, reading.BatteryV: 13.7, reading.ArrayA: 0.6, reading.BatteryA: 0.55}, []string{}},
			condition.Sound,
			[]string{"The controller holds back part of the array's power", "could give about"},
		},
		{
			"dark, battery at half: keep to light and communication",
			found{w{reading.Sky: "dark"}, n{reading.ArrayV: 0, reading.ArrayA: 0, reading.BatteryV: 12.2, reading.BatteryA: -0.01}, []string{}},
			condition.Sound,
			[]string{"It is dark on the array", "No current from the array reaches the battery side"},
		},
		{
			"daylight, nothing at the controller, the module alive: the circuit is open",
			found{w{reading.Sky: "clear"}, n{reading.ArrayV: 0, reading.ArrayA: 0, reading.ModuleV: 20.3, reading.BatteryV: 12.4}, []string{}},
			condition.ArrayOpen,
			[]string{"There is light on the array", "close what is open"},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, text := tt.found.infer(t, site.Demo())
			assert.Equal(t, tt.leader, r.Leader().ID, "%v", r.Conditions[:3])
			for _, s := range tt.says {
				assert.Contains(t, text, s)
			}
		})
	}
}

// A 10 W module of 36 cells gives about half an ampere in good sun (common practice).
func TestTenWattModule(t *testing.T) {
	s := site.Demo()
	s.Array.Strings = 1
	s.Array.Module.PmpW, s.Array.Module.ImpA, s.Array.Module.IscA = 10, 0.56, 0.6
	sun := w{reading.Sky: "clear", reading.Shade: "none", reading.Glass: "clean"}
	with := func(amperes float64) *belief.Result {
		r, _ := found{sun, n{reading.Irradiance: 870, reading.ModuleC: 48, reading.ArrayV: 12.9, reading.BatteryV: 12.8, reading.ArrayA: amperes}, []string{}}.infer(t, s)
		return r
	}
	good, little := with(0.52), with(0.34)
	assert.Equal(t, condition.Sound, good.Leader().ID, "%v", good.Conditions[:3])
	assert.Greater(t, good.State.Charging, 0.9)
	assert.Less(t, little.Of(condition.Sound), good.Of(condition.Sound)/2, "a third less is too little")
}

// Lamps, voltages and currents that tell one story are evidence that the system
// works as designed (common practice).
func TestConsistentIndicationsSpeakForSound(t *testing.T) {
	one, _ := found{w{reading.Sky: "clear"}, n{reading.BatteryV: 13.05}, []string{}}.infer(t, site.Demo())
	all, _ := found{
		w{reading.Sky: "clear", reading.Shade: "none", reading.Glass: "clean", "lamps.array lamp": "lit", "lamps.battery lamp": "three bars", "lamps.load lamp": "lit"},
		n{reading.Irradiance: 800, reading.ModuleC: 48, reading.ArrayV: 13.2, reading.BatteryV: 13.05, reading.PostV: 13.02, reading.ArrayA: 4.65, reading.BatteryA: 4.6, reading.LoadV: 13.04},
		[]string{},
	}.infer(t, site.Demo())
	assert.Greater(t, all.Of(condition.Sound), one.Of(condition.Sound))
}

// A paper has the sign that the clamp shows, and says what it means; the readings
// file counts the standby current the other way.
func TestPaperHasTheSignOfTheClamp(t *testing.T) {
	_, text := found{w{}, n{reading.BatteryV: 12.4, reading.BatteryA: -0.7, reading.StandbyA: 0.15}, nil}.infer(t, site.Demo())
	assert.Contains(t, text, "Battery current -0.70 A")
	assert.Regexp(t, `Standby current -0\.15 A -0\.\d+ to -?0\.\d+ A`, text)
	assert.Contains(t, text, "plus flows into it and minus out of it")
	_, without := found{w{}, n{reading.BatteryV: 12.4, reading.BatteryA: -0.7}, nil}.infer(t, site.Demo())
	assert.NotContains(t, without, "minus out of it")
}

// Near 0 V and no current at the array's terminals: dark, or the circuit is
// open. Only the sky, the clock or the module can tell (common practice).
func TestDarkOrDisconnected(t *testing.T) {
	bare := found{w{}, n{reading.ArrayV: 0.02, reading.ArrayA: 0, reading.BatteryV: 12.4}, nil}
	r, text := bare.infer(t, site.Demo())
	assert.Less(t, r.Leader().P, 0.8, "it must not be decided: %v", r.Conditions[:3])
	assert.Greater(t, r.Of(condition.ArrayOpen), 0.05)
	assert.Contains(t, text, "These readings are not enough to be sure.")
	assert.Contains(t, text, "The array circuit is open")
	byGain := map[reading.Key]float64{}
	for _, g := range r.Gains {
		byGain[g.Reading] = g.Bits
	}
	best := max(byGain[reading.Sky], byGain[reading.ModuleV], byGain[reading.Irradiance])
	assert.Greater(t, best, 0.1, "what can decide is worth taking")
	assert.Greater(t, best, byGain[reading.AirC])

	r, _ = found{w{reading.Sky: "clear"}, bare.numbers, nil}.infer(t, site.Demo())
	assert.Greater(t, r.Of(condition.ArrayOpen), 0.7)
	r, _ = found{w{reading.Sky: "dark"}, bare.numbers, nil}.infer(t, site.Demo())
	assert.Less(t, r.Of(condition.ArrayOpen), 0.15)
	assert.Less(t, r.State.Daylight, 0.1)
	r, _ = found{w{}, n{reading.ArrayV: 0.02, reading.ArrayA: 0, reading.BatteryV: 12.4, reading.ModuleV: 20.3}, nil}.infer(t, site.Demo())
	assert.Greater(t, r.Of(condition.ArrayOpen), 0.7)
}
