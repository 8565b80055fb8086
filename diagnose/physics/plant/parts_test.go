package plant_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// drawParts draws a plant with an inverter, a charger, battery strings, loads past the
// controller and an earthed pole, at any moment and with any fault.
func drawParts(t *rapid.T) drawn {
	s := plant.DrawSite(t)
	n := s.NominalV / 12
	share := func(name string) float64 { return rapid.Float64Range(0, 1).Draw(t, name) }
	from := site.FromBattery
	if s.Controller.LoadOutput && rapid.Bool().Draw(t, "inverter at the output") {
		from = site.FromOutput
	}
	rated := 20 + 600*n*share("rated")
	s.Inverter = &site.Inverter{
		RatedW: rated, IdleW: 0.03 * rated * share("idle"), Efficiency: 0.75 + 0.22*share("efficiency"), CutV: 10.5 * n, RestoreV: 12.2 * n,
		From: from, CableM: 0.3 + 3*share("inverter cable"), CableMM2: 16,
	}
	s.Charger = &site.Charger{RatedA: 1 + 30*share("charger"), AbsorbV: 14.4 * n, FloatV: 13.6 * n}
	s.Battery.Strings = rapid.IntRange(1, 4).Draw(t, "battery strings")
	s.Earthing = rapid.SampledFrom([]site.Pole{site.PoleNone, site.PolePlus, site.PoleMinus}).Draw(t, "earthing")
	s.Loads = append(s.Loads, site.Load{Label: "past it", PowerW: 5, From: site.FromBattery}, site.Load{Label: "mixer", PowerW: rated / 2, From: site.FromInverter})
	d := drawAt(t, s)
	drawn := make([]float64, len(s.Loads))
	for i := range drawn {
		drawn[i] = s.Loads[i].PowerW * share("on")
	}
	d.u.SetLoads(s, func(i int) float64 { return drawn[i] })
	d.u.InverterOn, d.u.InverterLatched = rapid.Bool().Draw(t, "inverter on"), rapid.Bool().Draw(t, "latched inverter")
	d.u.ChargerOn, d.u.ChargerFloats = rapid.Bool().Draw(t, "charger on"), rapid.Bool().Draw(t, "charger floats")
	d.u.Earthed = s.Earthing
	return d
}

// Kirchhoff's current law with every part: what the array side brings and the charger gives
// is what the battery, the loads, the inverter, the controller and the drains take.
func TestCurrentsBalanceWithParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawParts(t)
		p := plant.New(d.site, 60)
		var o plant.Out
		var f plant.Flow
		p.Flow(&d.u, &o, &f)
		fault := &d.u.Fault
		if fault.BatteryOpen || fault.PackOff || o.BusV < 1 {
			return // two circuits, see TestWithoutBattery
		}
		v := &o.Value
		if d.site.Controller.LoadOutput && d.u.BesideW > 0 {
			return // the next test sees them
		}
		drains := 0.0
		if fault.DrainAt != plant.DrainLoads {
			drains = fault.DrainA
		}
		drains += earthDrain(&d)
		own := 0.0
		if !fault.Dead {
			own = d.site.Controller.OwnUseMA / 1000 * d.u.OwnUse
		}
		inverter := v[plant.InverterA]
		if d.site.Inverter.From == site.FromOutput {
			inverter = 0 // the clamp on the load wire has it
		}
		in := f.In/o.BusV + v[plant.ChargerA]
		out := v[plant.BatteryA] + v[plant.LoadA] + inverter + own + drains
		require.InDelta(t, in, out, 1e-9*(1+math.Abs(in)+math.Abs(v[plant.BatteryA])+v[plant.LoadA]+v[plant.InverterA]), "%v", d.ids)
		n := float64(d.site.Battery.Parallel())
		if n > 1 { // and the strings' currents are the battery's
			require.InDelta(t, v[plant.BatteryA], v[plant.StringLow]+(n-1)*v[plant.StringRest], 1e-9*(1+math.Abs(v[plant.BatteryA])), "%v", d.ids)
		}
	})
}

// earthDrain is what flows through two joints to earth, one of them at a pole, over the part
// of the battery between them [A]. The plant reckons it at the nominal voltage.
func earthDrain(d *drawn) float64 {
	f := &d.u.Fault
	// Each place by its share of the battery's voltage, from minus to plus.
	joint := map[plant.Earth]float64{plant.EarthMinus: 0, plant.EarthPlus: 1, plant.EarthBetween: f.EarthPart}
	pole := map[site.Pole]float64{site.PoleMinus: 0, site.PolePlus: 1}
	at, joined := joint[f.EarthAt]
	own, earthed := pole[d.u.Earthed]
	if !joined || !earthed {
		return 0
	}
	return math.Abs(at-own) * d.site.NominalV / (f.EarthOhm + d.u.EarthOhm)
}

// The first law with every part: what comes in from the array and the mains is stored, used
// and lost, and nothing that is used or lost is negative.
func TestFlowBalancesWithParts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawParts(t)
		var o plant.Out
		var f plant.Flow
		plant.New(d.site, 60).Flow(&d.u, &o, &f)
		in := f.In + f.Mains
		out := f.Loads + f.Own + f.Drain + f.Wires + f.Stored + f.Heat + f.Gas
		size := math.Abs(f.In) + f.Mains + f.Loads + f.Own + f.Drain + math.Abs(f.Stored)
		require.InDelta(t, in, out, 1e-9*d.site.NominalV*(1+size), "%v %+v", d.ids, f) // a nanoampere, at the battery
		for _, x := range []float64{f.Mains, f.Loads, f.Own, f.Drain, f.Wires} {
			require.GreaterOrEqual(t, x, -1e-9, "%v %+v", d.ids, f)
		}
		for k, x := range o.Value {
			require.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%v: reading %d", d.ids, k)
		}
	})
}

// A dead appliance draws next to nothing, and each load draws where it is wired.
func TestSetLoads(t *testing.T) {
	s := *site.Demo()
	s.Inverter = &site.Inverter{RatedW: 100, Efficiency: 0.9}
	s.Loads = []site.Load{{Label: "a", PowerW: 10}, {Label: "b", PowerW: 20, From: site.FromBattery}, {Label: "c", PowerW: 40, From: site.FromInverter}, {Label: "d", PowerW: 80}}
	u := plant.Typical()
	u.Fault.DeadLoad, u.Fault.DeadDraws = 4, 0.05
	u.SetLoads(&s, func(i int) float64 { return s.Loads[i].PowerW })
	require.Equal(t, []float64{14, 20, 40}, []float64{u.LoadW, u.BesideW, u.InverterW})
}

// A string that is open leaves the others, in which a cell may be shorted or a block weak: of
// two strings nothing else is left, and it is as one string of half the capacity.
func TestStringOpenAndMore(t *testing.T) {
	two, one := *site.Demo(), *site.Demo()
	two.Battery.Strings, two.Battery.Blocks, two.Battery.CellsPerBlock = 2, 2, 3
	one.Battery = two.Battery
	one.Battery.Strings, one.Battery.CapacityAh = 1, two.Battery.CapacityAh/2
	for _, fault := range []plant.Fault{{ShortedCells: 1}, {WeakX: 4, CapacityX: 0.5}, {}} {
		u := plant.Typical()
		u.Irradiance, u.LoadW, u.Fault = 0, 60, fault
		var a, b plant.Out
		plant.New(&one, 60).Solve(&u, &a)
		u.Fault.StringsLost = 1
		plant.New(&two, 60).Solve(&u, &b)
		for _, k := range []plant.Index{plant.PostV, plant.BatteryA, plant.RestV, plant.BlockLow, plant.StepPostV, plant.StepBlockLow, plant.StepBlockRest} {
			require.InDelta(t, a.Value[k], b.Value[k], 1e-9, "%+v: reading %d", fault, k)
		}
		require.InDelta(t, 0, b.Value[plant.StringRest], 1e-9)
	}
}
