package virtualsite

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// withParts is a site with an inverter, a charger, two battery strings of two blocks, an
// earthed minus, and a load past the controller.
func withParts() *site.Site {
	s := *site.Demo()
	s.Battery.Strings, s.Battery.Blocks, s.Battery.CellsPerBlock = 2, 2, 3
	s.Earthing = site.PoleMinus
	s.Inverter = &site.Inverter{
		RatedW: 300, IdleW: 6, Efficiency: 0.88, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, FuseA: 40, CableM: 1, CableMM2: 16,
		Lamps: []site.Lamp{{Label: "front", Looks: []site.Look{
			{Look: "green", Means: []site.Meaning{site.InverterOn}}, {Look: "red", Means: []site.Meaning{site.InverterLow}}, {Look: "out", Means: []site.Meaning{site.InverterOff}},
		}}},
	}
	s.Charger = &site.Charger{RatedA: 10, AbsorbV: 14.4, FloatV: 13.6}
	s.Loads = append(slices.Clone(s.Loads),
		site.Load{Label: "alarm", PowerW: 24, From: site.FromBattery}, site.Load{Label: "laptop", PowerW: 60, From: site.FromInverter})
	return &s
}

func partsBench(change func(*Setup)) *Bench {
	return looked(func(s *Setup) {
		s.Site, s.LoadsOn = withParts(), []string{"ward lamps", "alarm", "laptop"}
		s.Unknowns.InverterOn, s.Unknowns.Earthed, s.Unknowns.SoC = true, site.PoleMinus, 0.55
		if change != nil {
			change(s)
		}
	})
}

// What the instruments show at the parts is what the plant has, and the currents add up as
// at every node: what comes from the array and the charger goes into the battery and the
// draws (Kirchhoff).
func TestParts(t *testing.T) {
	b := partsBench(func(s *Setup) { s.Unknowns.ChargerOn = true })
	out := &b.solve().found
	shows := func(wire string) float64 {
		b.Zero()
		d := embrace(t, b, wire, false)
		require.True(t, d.Shown, wire)
		return d.Value
	}
	assert.InDelta(t, out.Value[plant.InverterA], shows("inverter-wire"), 0.3)
	assert.Greater(t, out.Value[plant.InverterA], 5.0, "60 W at 88 % and its own draw")
	assert.InDelta(t, out.Value[plant.ChargerA], shows("charger-wire"), 0.4)
	b.Zero()
	each := embrace(t, b, "string-wires", false)
	assert.Len(t, each.List, 2)
	assert.Equal(t, reading.StringA, each.Reading)
	battery := shows("battery-wire")
	assert.InDelta(t, battery, each.List[0]+each.List[1], 0.3)
	beside := 24 * b.loadTol / 12.8
	b.Zero()
	assert.InDelta(t, battery, shows("array-wire")+shows("charger-wire")-shows("load-wire")-shows("inverter-wire")-beside, 1.2)

	b.SetMeter(Meter{DCVolts, 20, VoltSocket})
	v := probe(t, b, "inverter+", "inverter-")
	assert.Equal(t, reading.InverterV, v.Reading)
	assert.InDelta(t, out.Value[plant.InverterV], v.Value, 0.15)
	plus, minus := probe(t, b, "post+", "earth"), probe(t, b, "post-", "earth")
	assert.Equal(t, []reading.Key{reading.PlusEarthV, reading.MinusEarthV}, []reading.Key{plus.Reading, minus.Reading})
	assert.InDelta(t, 0, minus.Reads, 0.05, "minus is earthed")
	assert.InDelta(t, b.posts(), plus.Reads, 0.2)
	assert.InDelta(t, -plus.Value, probe(t, b, "earth", "post+").Value, 0.1)
	assert.InDelta(t, plus.Reads, probe(t, b, "earth", "post+").Reads, 0.1, "read with its sign wherever red is")
	assert.InDelta(t, v.Value, probe(t, b, "inverter+", "earth").Value, 0.3)
}

// A string that is open carries nothing, and the other all of it.
func TestOpenString(t *testing.T) {
	b := partsBench(func(s *Setup) { s.Unknowns.Fault.StringsLost = 1 })
	b.Zero()
	list := embrace(t, b, "string-wires", false).List
	slices.SortFunc(list, func(a, b float64) int { return int(math.Copysign(1, math.Abs(a)-math.Abs(b))) })
	assert.InDelta(t, 0, list[0], 0.1)
	assert.InDelta(t, b.solve().found.Value[plant.BatteryA], list[1], 0.2)
}

// What does not work, and how the inverter looks, follows what is wrong.
func TestWhatDoesNotWork(t *testing.T) {
	tests := []struct {
		name   string
		change func(*plant.Unknowns)
		dead   []string
		lamp   string
	}{
		{"all is well", func(*plant.Unknowns) {}, []string{}, "green"},
		{"a dead appliance", func(u *plant.Unknowns) { u.Fault.DeadLoad = 1 }, []string{"ward lamps"}, "green"},
		{"the inverter gives nothing", func(u *plant.Unknowns) { u.Fault.InverterOff = true }, []string{"laptop"}, "out"},
		{"its supply sags", func(u *plant.Unknowns) { u.Fault.InverterJoint = 0.6 }, []string{"laptop"}, "red"},
		{"it was switched off", func(u *plant.Unknowns) { u.InverterOn = false }, []string{}, "out"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			b := partsBench(func(s *Setup) { tt.change(&s.Unknowns) })
			assert.Equal(t, tt.dead, b.notWorking())
			look, ok := b.Sees(reading.InverterLamp("front"))
			assert.True(t, ok)
			assert.Equal(t, tt.lamp, look)
		})
	}
}

// Everything off and the array open is a rest; an inverter that is left on is none. A load
// through the inverter is a load step.
func TestRestWithParts(t *testing.T) {
	b := partsBench(func(s *Setup) { s.Unknowns.Fault.WeakX = 5 })
	b.Ask()
	b.SwitchLoads(nil)
	b.SwitchArray(true)
	assert.Zero(t, b.RestMinutes(), "the inverter draws by itself")
	b.SwitchInverter(false)
	b.Wait(45 * time.Minute)
	assert.InDelta(t, 45, b.RestMinutes(), 5)
	rest := probe(t, b, "block+", "block-").List
	b.SwitchInverter(true)
	b.SwitchLoads([]string{"laptop", "ward lamps"})
	b.Zero()
	step := embrace(t, b, "battery-wire", false)
	assert.Equal(t, reading.StepA, step.Reading)
	d := probe(t, b, "block+", "block-")
	assert.Equal(t, reading.StepBlockV, d.Reading)
	sag := []float64{rest[0] - d.List[0], rest[1] - d.List[1]}
	assert.Greater(t, math.Abs(sag[0]-sag[1]), 0.03, "one block sags more")
	assert.False(t, b.Put())
	b.SwitchArray(false)
	b.PartsAsFound()
	b.SwitchLoads(b.LoadsAsFound())
	assert.True(t, b.Put())
}

// People tell what they complain of, and eyes find damage at its place.
func TestPeopleTell(t *testing.T) {
	b := partsBench(func(s *Setup) {
		s.Signs = map[reading.Key][]string{reading.Complaint: {"lamps-short"}, reading.Seen: {"post-crust", "cells-brown"}}
	})
	lines, told := b.Ask()
	assert.Len(t, lines, 1)
	assert.Equal(t, []string{"lamps-short"}, told[0].Several)
	assert.Equal(t, []string{}, told[1].Several, "nothing changed")
	_, looks := b.Look(AtBattery)
	i := slices.IndexFunc(looks, func(d Display) bool { return d.Reading == reading.Seen })
	assert.Equal(t, []string{"post-crust"}, looks[i].Several)
	assert.Contains(t, looks[i].Looked, "leak")
	for _, id := range reading.Damages {
		assert.Contains(t, Places, texts().Seen[id].Place, id)
		assert.NotEmpty(t, texts().Seen[id].Text, id)
	}
	for _, id := range reading.Complaints {
		assert.True(t, id == reading.None || texts().Complaint[id] != "", id)
	}
	for _, id := range reading.Changes {
		assert.True(t, id == reading.None || texts().Changed[id] != "", id)
	}
}
