package plant_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// Energy is kept: what comes in is stored, used and lost, at any plant with any fault.
// What comes in is worked out from the array's side, the rest from the battery's.
func TestFlowBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		p := plant.New(d.site, 60)
		var o plant.Out
		var f plant.Flow
		p.Flow(&d.u, &o, &f)
		out := f.Loads + f.Own + f.Drain + f.Wires + f.Stored + f.Heat + f.Gas
		size := math.Abs(f.In) + f.Loads + f.Own + f.Drain + math.Abs(f.Stored)
		require.InDelta(t, f.In, out, 1e-7*(1+size), "%+v", f)
		for _, x := range []float64{f.Loads, f.Own, f.Drain, f.Wires, f.Gas} {
			require.GreaterOrEqual(t, x, -1e-9)
		}

		solved := d.solve()
		for _, k := range []plant.Index{plant.ArrayV, plant.ArrayA, plant.BatteryV, plant.BatteryA, plant.LoadA, plant.PostV} {
			require.Equal(t, solved.Value[k], o.Value[k], "as Solve has it")
		}
		if len(d.ids) == 0 { // what is stored is what the clamp at the battery shows, less losses
			require.InDelta(t, o.Value[plant.PostV]*o.Value[plant.BatteryA], f.Stored+f.Heat+f.Gas, 1e-7*(1+size))
		}
	})
}

// The discharge times by the rule whose worked figures TestPeukert has; and no longer time
// for a larger draw.
func TestPerHour(t *testing.T) {
	s := site.Demo()
	s.Battery.CapacityAh = 100
	p := plant.New(s, 60)
	u := plant.Typical()
	u.Capacity, u.Peukert = 1, 1.2
	rate, toll := p.PerHour(&u, -10)
	assert.InDelta(t, -1/8.7055, rate, 1e-5)
	assert.InDelta(t, -1/8.7055+0.1, toll, 1e-5)
	rate, toll = p.PerHour(&u, 10)
	assert.Equal(t, []float64{0.1, 0}, []float64{rate, toll}, "charging")
	rate, toll = p.PerHour(&u, -4)
	assert.Equal(t, []float64{-0.04, 0}, []float64{rate, toll}, "below the rated current")
	last := 0.0
	for a := 0.5; a < 60; a++ {
		rate, _ := p.PerHour(&u, -a)
		assert.Less(t, rate, last)
		last = rate
	}
}

// Who gets no power from the battery is not told of days.
func TestHoursOfWhatCarriesNothing(t *testing.T) {
	p := plant.New(site.Demo(), 60)
	for name, f := range map[string]plant.Fault{
		"battery open": {BatteryOpen: true}, "pack off": {PackOff: true}, "loads open": {LoadOpen: true},
		"output off": {LoadOff: true}, "controller dead": {Dead: true},
	} {
		u := plant.Typical()
		u.Irradiance, u.LoadW, u.Fault = 0, 20, f
		var o plant.Out
		p.Solve(&u, &o)
		assert.Zero(t, p.HoursToCut(&u, &o), name)
	}
	u := plant.Typical()
	u.Irradiance, u.LoadW, u.SoC = 0, 20, 0.05
	var o plant.Out
	p.Solve(&u, &o)
	require.True(t, o.LoadsCut)
	assert.Zero(t, p.HoursToCut(&u, &o), "cut already")
}

// A lead-acid battery that nobody charges loses 2 to 10 % of its charge a month at 25 °C
// (common practice).
func TestSelfDischarge(t *testing.T) {
	s := site.Demo()
	s.Controller.OwnUseMA, s.Loads = 0, nil
	p := plant.New(s, 60)
	u := plant.Typical()
	u.Irradiance, u.SoC = 0, 0.95
	var o plant.Out
	var f plant.Flow
	p.Flow(&u, &o, &f)
	rate, _ := p.PerHour(&u, f.ChargeA)
	month := -rate * 24 * 30
	assert.Greater(t, month, 0.02)
	assert.Less(t, month, 0.1)
	assert.InDelta(t, 0, o.Value[plant.BatteryA], 1e-6)
}
