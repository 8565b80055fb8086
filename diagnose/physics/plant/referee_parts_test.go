package plant_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// Parts that no site file tells; plant documents each of these figures.
const (
	chargerSoftV = 0.05 // a charger takes its current back over so many volts, at 12 V
	voltmeterOhm = 10e6
)

// refereedParts are the readings of the parts that a circuit decides.
var refereedParts = []refereedReading{
	{plant.ArrayV, "array_v", false}, {plant.ModuleV, "module_v", false}, {plant.ArrayA, "array_a", true},
	{plant.BatteryV, "battery_v", false}, {plant.PostV, "post_v", false}, {plant.BatteryA, "battery_a", true},
	{plant.LoadA, "load_a", true}, {plant.InverterA, "inverter_a", true}, {plant.InverterV, "inverter_v", false},
	{plant.ChargerA, "charger_a", true}, {plant.StringLow, "string_a, lowest", true}, {plant.StringRest, "string_a, others", true},
	{plant.PlusEarthV, "plus_earth_v", false}, {plant.MinusEarthV, "minus_earth_v", false},
}

// partsTrial draws a plant with all the parts and one of the things that can be wrong with
// them.
func (d dice) partsTrial(k int) *trial {
	s := d.site(site.Series, pick(d, site.Flooded, site.AGM, site.Gel, site.LFP))
	n := s.NominalV / 12
	s.Controller.LoadOutput = d.IntN(2) == 0
	s.Battery.Strings = 1 + d.IntN(3)
	if s.Battery.Blocks == 1 {
		s.Battery.Blocks, s.Battery.CellsPerBlock = 2, s.Battery.CellsPerBlock/2
	}
	s.Inverter = &site.Inverter{
		RatedW: math.Round(s.Array.PowerW() * d.between(0.3, 1.5)), Efficiency: d.between(0.8, 0.95), CutV: 10.5 * n, RestoreV: 12.2 * n,
		From: pick(d, site.FromBattery, s.MainSource()), CableM: d.between(0.5, 3), CableMM2: pick(d, 6.0, 10, 16),
	}
	s.Inverter.IdleW = s.Inverter.RatedW * d.between(0.005, 0.02)
	s.Charger = &site.Charger{RatedA: s.Battery.CapacityAh * d.between(0.03, 0.2), AbsorbV: 14.4 * n, FloatV: 13.6 * n}
	s.Earthing = pick(d, site.PoleNone, site.PolePlus, site.PoleMinus)
	u := d.unknowns(s, pick(d, atNight, inDimLight, bySun))
	u.SoC = d.between(0.3, 0.85)
	u.LatchedOff, u.Track, u.StartW = false, 0, 0
	u.InverterOn, u.InverterW = d.IntN(4) > 0, s.Inverter.RatedW*d.between(0, 1)
	u.Inverter = d.between(0.95, 1.05)
	u.ChargerOn, u.ChargerFloats = d.IntN(2) == 0, d.IntN(2) == 0
	u.Charger, u.ChargerSet = d.between(0.85, 1.02), d.between(-0.1, 0.1)
	if s.Controller.LoadOutput {
		u.BesideW = 0.3 * u.LoadW
	}
	u.Earthed, u.EarthOhm = s.Earthing, d.between(20, 200)
	tr := &trial{site: s, stc: plant.FitNameplate(s.Array.Module), u: u, minutes: 45}
	f := &tr.u.Fault
	what := "sound"
	switch k % 7 {
	case 1:
		if s.Battery.Parallel() > 1 {
			f.StringsLost, what = 1, "a string open"
		}
	case 2:
		f.ShortedCells, what = 1, "a cell shorted"
	case 3:
		if s.Battery.Parallel() == 1 {
			f.WeakX, f.CapacityX, what = d.between(2.5, 10), d.between(0.25, 0.8), "a weak block"
		}
	case 4:
		f.ArrayShort, f.ShortAt, what = true, d.Float64(), "the array's cable shorted"
	case 5:
		f.InverterJoint, what = d.between(0.01, 0.2)*n, "a bad joint at the inverter"
	case 6:
		f.EarthAt, f.EarthOhm, what = pick(d, plant.EarthPlus, plant.EarthMinus), math.Exp(d.between(0, math.Log(1e4))), "an earth fault"
	}
	tr.about = fmt.Sprintf("%g V %s x%d, %s, %.0f W/m2, charge %.2f", s.NominalV, s.Battery.Chemistry, s.Battery.Parallel(), what, u.Irradiance, u.SoC)
	return tr
}

// cellsOf puts n cells in series between two nodes, as [netlist.battery] does a battery.
func (c *netlist) cellsOf(tr *trial, name, plus, minus string, n float64) {
	m := tr.cellModel()
	at, emf := name+"i", name+"e"
	c.resistor(plus, at, n*m.ohm)
	c.voltage(emf, minus, n*tr.cellV())
	most := 10 * tr.site.Battery.CapacityAh
	c.overvoltage(at, emf, m.i0C, n*m.etaC, most)
	c.overvoltage(emf, at, m.i0D, n*m.etaD, most)
	if m.gas > 0 {
		zero := m.gas * math.Exp(-gasPerV*gasV)
		rest := zero * math.Exp(gasPerV*tr.cellV())
		c.exponential("gas"+name, at, minus, zero, n/gasPerV)
		over := fmt.Sprintf("V(%s,%s)", at, emf)
		c.behave(minus, at, fmt.Sprintf("%s*(%s > 0 ? 1 : exp((%s > 0 ? 0 : %s)/%s))", number(rest), over, over, over, number(n/gasPerV)))
	}
	c.guess(tr.restV(), at, emf)
}

// strings puts the battery's strings in parallel at the posts, each behind an ammeter.
func (c *netlist) strings(tr *trial) {
	b, f := tr.site.Battery, &tr.u.Fault
	all := b.Parallel()
	each := *tr
	one := *tr.site
	one.Battery.CapacityAh = b.CapacityAh / float64(all)
	each.site = &one
	each.u.Fault.ShortedCells, each.u.Fault.OhmX = 0, 0
	for k := range all {
		name := fmt.Sprintf("s%d", k)
		n := float64(b.Cells())
		c.ammeter(name, "p", name)
		c.probe("i(v" + name + ")")
		c.guess(tr.restV(), name)
		switch {
		case k == 0 && f.StringsLost > 0:
			c.resistor(name, name+"o", openOhm)
			c.cellsOf(&each, name+"c", name+"o", "0", n)
		case k == 0 && f.WeakX > 0:
			weak, others := each, each
			weak.u.Fault.OhmX = f.WeakX
			others.u.SoC = 1 - (1-tr.u.SoC)*f.CapacityX
			c.cellsOf(&weak, name+"w", name, name+"m", float64(b.CellsPerBlock))
			c.cellsOf(&others, name+"c", name+"m", "0", n-float64(b.CellsPerBlock))
		case k == 0:
			c.cellsOf(&each, name+"c", name, "0", n-float64(f.ShortedCells))
		default:
			c.cellsOf(&each, name+"c", name, "0", n)
		}
	}
}

// withParts is the whole circuit: array and series controller, strings, loads at the output
// and past it, the inverter on or off, the charger, and a voltmeter from a pole to earth.
func (tr *trial) withParts(inverter, toMinus bool) *netlist {
	c := &netlist{}
	u, f, s := &tr.u, &tr.u.Fault, tr.site
	wired := *tr
	if f.ArrayShort {
		after := loop(s.Array.CableM, s.Array.CableMM2, u.AirC)*u.Cable + u.ArrayJoint
		wired.u.Fault.JointAfter = after * (f.ShortAt - 1) // so that the cable ends at the short
	}
	c.array(&wired, "s", u.Irradiance, u.CellC)
	if f.ArrayShort {
		c.resistor("sa", "0", 0)
		c.probe("v(sa)")
	} else {
		c.path(tr, "sa", "b")
	}
	warm := func(m, mm2 float64) float64 { return loop(m, mm2, u.AirC) * u.Cable }
	c.resistor("b", "p", warm(s.Battery.CableM, s.Battery.CableMM2)+u.BatteryJoint)
	c.strings(tr)
	c.draw("b", s.Controller.OwnUseMA/1000*u.OwnUse)
	near := "p"
	if s.Controller.LoadOutput {
		near = "b"
		beside := wired
		beside.u.LoadW = u.BesideW
		c.loads(&beside, "p", "e2")
		c.guess(tr.restV(), "e2")
	}
	c.ammeter("il", near, "l")
	c.loads(&wired, "l", "e")
	from := "p"
	if s.Inverter.From == site.FromOutput {
		from = "l"
	}
	c.ammeter("inv", from, "n1")
	c.resistor("n1", "n2", warm(s.Inverter.CableM, s.Inverter.CableMM2)+u.LoadJoint+f.InverterJoint)
	c.resistor("n2", "0", meterOhm)
	if inverter {
		// Its sheet's efficiency holds at a third of the rated power; its own draw is part
		// of what is lost there.
		third := s.Inverter.RatedW / 3
		lost := third/s.Inverter.Efficiency - third - s.Inverter.IdleW
		watts := s.Inverter.IdleW + u.InverterW*(1+max(lost/third, 0.005))
		c.power("n2", "0", "V(n2)", watts*u.Inverter, constantPowerTo*s.NominalV)
	}
	if u.ChargerOn {
		hold := s.Charger.AbsorbV
		if u.ChargerFloats {
			hold = s.Charger.FloatV
		}
		soft := chargerSoftV * s.NominalV / 12
		top := hold + u.ChargerSet*s.NominalV/12 + soft/2
		part := fmt.Sprintf("(%s-V(p))*%s", number(top), number(1/soft))
		c.ammeter("chg", "c", "p")
		c.behave("0", "c", fmt.Sprintf("%s*(%s > 1 ? 1 : (%s < 0 ? 0 : %s))", number(s.Charger.RatedA*u.Charger), part, part, part))
		c.resistor("c", "0", meterOhm)
		c.probe("i(vchg)")
	}
	pole := map[site.Pole]string{site.PolePlus: "p", site.PoleMinus: "0"}[u.Earthed]
	if pole != "" {
		c.resistor(pole, "g", u.EarthOhm)
	}
	switch f.EarthAt {
	case plant.EarthPlus:
		c.resistor("p", "g", f.EarthOhm)
	case plant.EarthMinus:
		c.resistor("0", "g", f.EarthOhm)
	}
	meter := "p"
	if toMinus {
		meter = "0"
	}
	c.resistor(meter, "g", voltmeterOhm)
	for _, n := range []string{"b", "p", "l"} {
		c.resistor(n, "0", meterOhm)
	}
	c.probe("v(b)", "v(p)", "v(e)", "v(g)", "i(vil)", "i(vinv)", "v(n2)")
	c.guess(tr.restV(), "b", "p", "l", "e", "n1", "n2")
	return c
}

// The parts agree with the circuit simulator as closely as the rest of the plant does: an
// inverter as constant power behind its cable, a charger that takes its current back, strings
// one of which is open or has a shorted cell, a weak block, a shorted array cable, a conductor
// joined to earth. Where the inverter's voltage by the circuit is below its cut-off, it is off.
func TestRefereeParts(t *testing.T) {
	ngspice(t)
	d := dice{rand.New(rand.NewPCG(5, 0))}
	n := effort.Of(0, 140, 420)
	var trials []*trial
	var circuits []*netlist
	for k := range n {
		tr := d.partsTrial(k)
		trials = append(trials, tr)
		for _, inverter := range []bool{true, false} {
			for _, toMinus := range []bool{false, true} {
				circuits = append(circuits, tr.withParts(inverter, toMinus))
			}
		}
	}
	results := simulate(t, circuits)
	compared, far, judged, low := 0, 0, 0, 0
	for k, tr := range trials {
		var o plant.Out
		plant.New(tr.site, tr.minutes).Solve(&tr.u, &o)
		on, off := results[4*k], results[4*k+2]
		s := tr.site
		if s.Controller.LoadOutput && on["v(b)"] < s.Controller.CutV+edgeV || on["v(b)"] > tr.setPoint()-edgeV || off["v(b)"] > tr.setPoint()-edgeV {
			continue // the controller steps in, which TestReferee judges
		}
		runs := tr.u.InverterOn
		if runs {
			switch low := on["v(n2)"] - s.Inverter.CutV; {
			case math.Abs(low) < edgeV:
				continue
			case low < 0:
				runs = false
			}
		}
		judged++
		require.Equal(t, runs, o.InverterRuns, "%s: %v", tr.about, on)
		if tr.u.InverterOn && !runs {
			low++
			if off["v(p)"] >= s.Inverter.RestoreV {
				continue // it hunts between the two
			}
		}
		plus, minus := off, results[4*k+3]
		if runs {
			plus, minus = on, results[4*k+1]
		}
		want := tr.partReadings(plus, minus)
		for _, r := range refereedParts {
			w, has := want[r.index]
			if !has {
				continue
			}
			compared++
			require.False(t, math.IsNaN(o.Value[r.index]), "%s %s", tr.about, r.name)
			if got := o.Value[r.index]; !near(w, got) {
				far++
				t.Logf("#%d %s: %s is %.4f, by the circuit %.4f", k, tr.about, r.name, got, w)
			}
		}
	}
	t.Logf("%d of %d plants judged, %d inverters without supply, %d readings, %d (%.2f %%) further than %g %% and %g V or A",
		judged, n, low, compared, far, 100*float64(far)/float64(compared), 100*relativeLimit, absoluteLimit)
	assert.Greater(t, judged, n/2)
	assert.Positive(t, low)
	assert.Less(t, float64(far), (1-shareLimit)*float64(compared))
}

// partReadings are the readings by two circuits, with the voltmeter from plus and from minus
// to earth.
func (tr *trial) partReadings(plus, minus solved) map[plant.Index]float64 {
	f := &tr.u.Fault
	want := map[plant.Index]float64{
		plant.ModuleV: plus["v(sm)"], plant.ArrayV: plus["v(sa)"], plant.ArrayA: plus["i(vsia)"],
		plant.BatteryV: plus["v(b)"], plant.PostV: plus["v(p)"],
		plant.LoadA: plus["i(vil)"], plant.InverterA: plus["i(vinv)"], plant.InverterV: plus["v(n2)"],
	}
	if f.ArrayShort { // the clamp is at the controller, behind the short
		want[plant.ArrayV], want[plant.ArrayA] = 0, 0
	}
	if tr.u.ChargerOn {
		want[plant.ChargerA] = plus["i(vchg)"]
	}
	n := tr.site.Battery.Parallel()
	var sum float64
	low := math.Inf(1)
	for k := range n {
		x := plus[fmt.Sprintf("i(vs%d)", k)]
		sum, low = sum+x, min(low, x)
	}
	want[plant.BatteryA] = sum
	if n > 1 {
		want[plant.StringLow], want[plant.StringRest] = low, (sum-low)/float64(n-1)
	}
	if tr.u.Earthed == site.PolePlus || tr.u.Earthed == site.PoleMinus || f.EarthAt != plant.NotEarthed {
		want[plant.PlusEarthV], want[plant.MinusEarthV] = plus["v(p)"]-plus["v(g)"], -minus["v(g)"]
	}
	return want
}
