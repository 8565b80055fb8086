package plant_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// lantern is a closed kit with one cell of 3.2 V and 6 Ah, and a panel of 6 W.
func lantern() *site.Site {
	s := site.Demo()
	s.NominalV, s.Kit = 3, &site.Kit{USB: 2, Locks: true}
	s.Array = site.Array{Series: 1, Strings: 1, CableM: 6, CableMM2: 0.75, Module: site.Module{
		PmpW: 6, VmpV: 6, ImpA: 1, VocV: 7.3, IscA: 1.07, Cells: 12, Bypass: 1, IscPctPerC: 0.05, VocPctPerC: -0.32, NOCTC: 46,
	}}
	s.Controller = site.Controller{Kind: site.MPPT, RatedA: 3, AbsorbV: 3.6, FloatV: 3.5, CutV: 3, RestoreV: 3.2, OwnUseMA: 3, LoadOutput: true}
	s.Battery = site.Battery{Chemistry: site.LFP, CapacityAh: 6, Blocks: 1, CellsPerBlock: 1, CableM: 0.15, CableMM2: 1}
	s.LoadWiring = site.LoadWiring{CableM: 1, CableMM2: 1}
	return s
}

// A kit runs for its watt-hours by the watts, a little less: 6 Ah x 3.2 V / 3 W = 6.4 h, the
// sum that a technician makes. With half of the capacity it is half as long.
func TestRunTimeIsCapacity(t *testing.T) {
	s := lantern()
	p := plant.New(s, 45)
	hours := func(change func(*plant.Unknowns)) float64 {
		u := plant.Typical()
		u.RunW, u.Capacity = 3, 1
		if change != nil {
			change(&u)
		}
		var o plant.Out
		p.Solve(&u, &o)
		return o.Value[plant.RunH]
	}
	whole := hours(nil)
	assert.InDelta(t, 0.9*6.4, whole, 0.4)
	assert.InDelta(t, whole/2, hours(func(u *plant.Unknowns) { u.RunW = 6 }), 0.15*whole)
	assert.InDelta(t, whole/2, hours(func(u *plant.Unknowns) { u.Fault.CapacityX = 0.5 }), 0.05*whole)
	assert.Zero(t, hours(func(u *plant.Unknowns) { u.Fault.PackOff = true }))
	assert.Zero(t, hours(func(u *plant.Unknowns) { u.RunW = 0 }), "nobody tells of it")
}

// What stands at the outputs goes with what feeds them, whatever else is so.
func TestOutputsOfAKit(t *testing.T) {
	s := lantern()
	p := plant.New(s, 45)
	rapid.Check(t, func(t *rapid.T) {
		u := plant.Typical()
		u.Irradiance, u.SoC = rapid.Float64Range(0, 1100).Draw(t, "light"), rapid.Float64Range(0.02, 1).Draw(t, "charge")
		u.LoadW, u.Locked = rapid.Float64Range(0, 7).Draw(t, "load"), rapid.Bool().Draw(t, "locked")
		faults := condition.Applicable(s)
		c := faults[rapid.IntRange(0, len(faults)-1).Draw(t, "fault")]
		option := rapid.IntRange(0, len(condition.Options(c.ID, s))-1).Draw(t, "option")
		condition.Disturb(c.ID, s, &u, 0.5, 0.5, option)
		var o plant.Out
		p.Solve(&u, &o)
		v := &o.Value
		if u.Locked {
			assert.False(t, o.LoadsLive, "it gives nothing until it is paid")
		}
		if !o.LoadsLive {
			assert.True(t, o.Floats[plant.USBLow] && o.Floats[plant.USBRest])
			assert.Zero(t, v[plant.OutputW])
			return
		}
		assert.InDelta(t, 5, v[plant.USBRest], 0.25, "USB: 4.75 to 5.25 V (from memory)")
		if c.ID == condition.LoadOutputOpen {
			assert.Zero(t, v[plant.USBLow], "one of them is dead, where others live")
		} else {
			assert.Equal(t, v[plant.USBRest], v[plant.USBLow])
		}
		assert.InDelta(t, v[plant.LoadA]*v[plant.LoadEndV], v[plant.OutputW], 1e-9)
	})
}

// Like strings of lithium cells drive amperes into each other next to empty, where the rest
// voltage is steep, and hardly any at half charge: 1 % of charge is 0.04 V a cell there, against
// some milliohms (the tables of RestVoltage; Ohm's law).
func TestStringsExchange(t *testing.T) {
	s := site.Demo()
	s.Battery = site.Battery{Chemistry: site.LFP, CapacityAh: 47, Strings: 3, Blocks: 1, CellsPerBlock: 4, CableM: 1, CableMM2: 6}
	stray := func(soc float64) float64 {
		u := plant.Typical()
		u.Irradiance, u.SoC, u.LoadW = 0, soc, 0
		var o plant.Out
		plant.New(s, 45).Solve(&u, &o)
		return o.StrayA
	}
	assert.Greater(t, stray(0.03), 0.4)
	assert.Less(t, stray(0.03), 5.0)
	assert.Less(t, stray(0.5), 0.2)
	assert.Positive(t, stray(0.5))
}

// A second array gives by the light, nothing in the dark or switched off, and no more than its
// set-point lets it: a current into the bus beside the first.
func TestSecondArray(t *testing.T) {
	s := site.Demo()
	s.Charger = &site.Charger{Source: site.FromArray, RatedA: 8, AbsorbV: 14.4, FloatV: 13.7}
	p := plant.New(s, 45)
	gives := func(light, charge float64, on bool) plant.Out {
		u := plant.Typical()
		u.Irradiance, u.SoC, u.ChargerOn = light, charge, on
		var o plant.Out
		p.Solve(&u, &o)
		return o
	}
	half, full := gives(400, 0.4, true), gives(800, 0.4, true)
	assert.InDelta(t, 3.2, half.Value[plant.ChargerA], 1e-6)
	assert.InDelta(t, 6.4, full.Value[plant.ChargerA], 1e-6)
	assert.Zero(t, gives(0, 0.4, true).Value[plant.ChargerA])
	assert.Zero(t, gives(800, 0.4, false).Value[plant.ChargerA])
	assert.Less(t, gives(1000, 0.999, true).Value[plant.ChargerA], 4.0, "a full battery takes little")
	for _, o := range []plant.Out{half, full} { // Kirchhoff's current law at the posts
		v := o.Value
		assert.InDelta(t, v[plant.ArrayA]+v[plant.ChargerA], v[plant.BatteryA]+v[plant.LoadA]+s.Controller.OwnUseMA/1000, 1e-6)
	}
}
