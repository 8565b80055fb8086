package plant_test

import (
	"math"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A drawn plant: any valid site, any moment, any tolerances, and one or two
// conditions at any severity.
type drawn struct {
	site *site.Site
	u    plant.Unknowns
	ids  []condition.ID
}

func drawPlant(t *rapid.T) drawn { return drawAt(t, plant.DrawSite(t)) }

func drawAt(t *rapid.T, s *site.Site) drawn {
	d := drawn{site: s}
	d.u = plant.DrawUnknowns(t, d.site)
	var ids []condition.ID
	for _, c := range condition.Applicable(d.site) {
		ids = append(ids, c.ID)
	}
	for range rapid.IntRange(1, 2).Draw(t, "conditions") {
		id := rapid.SampledFrom(ids).Draw(t, "condition")
		option := rapid.IntRange(0, len(condition.Options(id, d.site))-1).Draw(t, "option")
		unit := rapid.Float64Range(0, 1)
		condition.Disturb(id, d.site, &d.u, unit.Draw(t, "a"), unit.Draw(t, "b"), option)
		d.ids = append(d.ids, id)
	}
	return d
}

func (d drawn) solve() (o plant.Out) {
	plant.New(d.site, 60).Solve(&d.u, &o)
	return o
}

// Whatever is wrong, every reading is a number, and one of this plant's.
func TestAlwaysNumbers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		o := allNumbers(t, d)
		voltage := max(2*d.site.Array.OpenCircuitV(-40), 3*d.site.NominalV)
		current := 2*d.site.Array.ShortCircuitA() + 100*d.site.AllListedW()/d.site.NominalV + 20*d.site.Battery.CapacityAh
		most := max(voltage, current, 2000)
		for k, v := range o.Value {
			assert.Less(t, math.Abs(v), most, "%v: reading %d", d.ids, k)
		}
	})
}

// Of any valid site file, even one that makes no sense as a plant.
func TestAlwaysNumbersAnySite(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) { allNumbers(t, drawAt(t, plant.DrawAnySite(t))) })
}

func allNumbers(t *rapid.T, d drawn) plant.Out {
	p := plant.New(d.site, 60)
	fit := p.Module()
	assert.False(t, math.IsNaN(fit.PeakMisfit) || math.IsNaN(fit.VocMisfit), "fit %+v", fit)
	var o plant.Out
	p.Solve(&d.u, &o)
	number := func(x float64, what any) {
		assert.False(t, math.IsNaN(x) || math.IsInf(x, 0), "%v: %v is %v", d.ids, what, x)
	}
	for k, v := range o.Value {
		number(v, k)
	}
	all := reflect.ValueOf(o)
	for k := range all.NumField() {
		if f := all.Field(k); f.Kind() == reflect.Float64 {
			number(f.Float(), all.Type().Field(k).Name)
		}
	}
	number(p.HoursToCut(&d.u, &o), "hours to the cut-off")
	return o
}

// What flows into a node flows out of it, as the clamps of a visit would show.
func TestCurrentsBalance(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		o, v, f := d.solve(), new([plant.Count]float64), d.u.Fault
		*v = o.Value
		tol := 1e-6 * (1 + math.Abs(v[plant.ArrayA]) + math.Abs(v[plant.LoadA]) + math.Abs(v[plant.BatteryA]))
		own := 0.0
		if !f.Dead {
			own = d.site.Controller.OwnUseMA / 1000 * d.u.OwnUse
		}
		if f.BatteryOpen || f.PackOff {
			return // two circuits, see TestWithoutBattery
		}
		out := v[plant.BatteryA] + v[plant.LoadA] + own
		switch {
		case f.DrainA == 0:
		case f.DrainAt == plant.DrainPosts || f.DrainAt == plant.DrainBus:
			out += f.DrainA
		case !d.site.Controller.LoadOutput:
			// inside what the clamp on the load wire shows
		}
		// What comes to the battery side: the array's current, through an mppt
		// controller converted. Held back by one whose array can do no better than
		// the battery's voltage it comes in pulses, and the mean voltage tells nothing.
		in := v[plant.ArrayA]
		if d.site.Controller.Kind == site.MPPT && v[plant.ArrayA] > 0 && v[plant.ArrayV] > v[plant.BatteryV]+d.u.DropV+v[plant.ArrayA]*d.u.DropOhm+1e-6 {
			converted := d.u.Efficiency * v[plant.ArrayA] * v[plant.ArrayV] / v[plant.BatteryV]
			if !o.Regulating || math.Abs(converted-out) < math.Abs(in-out) {
				in = converted
			}
		}
		if d.site.Controller.Kind == site.Shunt && o.Regulating {
			return // part of the array's current goes through the shorting switch
		}
		if f.Reversed {
			assert.LessOrEqual(t, v[plant.ArrayA], tol)
			in = 0 // it runs through the controller's diode
		}
		assert.InDelta(t, in, out, tol, "%v: kind %s", d.ids, d.site.Controller.Kind)
		assert.InDelta(t, o.DrawA, in-v[plant.BatteryA], tol, "%v", d.ids)
	})
}

// No energy from nowhere: the array gives no more than its best point, voltage
// falls along every wire in the direction of the current, and the battery side
// gets no more than comes in.
func TestNoEnergyFromNowhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		o := d.solve()
		v, f := &o.Value, &d.u.Fault
		const tol = 1e-6
		down := func(i, from, to float64, what string) {
			assert.GreaterOrEqual(t, i*(from-to), -tol*(1+math.Abs(i)), "%v: %s", d.ids, what)
		}
		if !f.Reversed && f.ArrayOpen == plant.NotOpen {
			down(v[plant.ArrayA], v[plant.ModuleV], v[plant.ArrayV], "array cable")
		}
		if !f.BatteryOpen && !f.PackOff {
			cable := v[plant.BatteryA]
			if !d.site.Controller.LoadOutput {
				cable += v[plant.LoadA]
			}
			if f.DrainAt == plant.DrainPosts {
				cable += f.DrainA
			}
			down(cable, v[plant.BatteryV], v[plant.PostV], "battery cable")
		}
		if d.site.Controller.LoadOutput && !o.Floats[plant.LoadV] && !f.LoadOpen {
			down(v[plant.LoadA], v[plant.LoadV], v[plant.LoadEndV], "load cable")
		}
		m := plant.New(d.site, 60).Module()
		best := m.At(max(d.u.Irradiance, 1), d.u.CellC, m.Alpha, d.u.Shunt)
		i, u := best.MaxPower()
		most := 1.25 * i * u * float64(d.site.Array.Series*d.site.Array.Strings)
		if d.site.Controller.Kind != site.Shunt || !o.Regulating {
			assert.LessOrEqual(t, v[plant.ModuleV]*v[plant.ArrayA], most+tol, "%v: more than the best point", d.ids)
		}
		assert.GreaterOrEqual(t, o.SpareW, -tol, "%v", d.ids)
		assert.LessOrEqual(t, o.SpareW, most+tol, "%v", d.ids)
	})
}

// Each change of one thing moves a reading one way only, all else equal.
func TestMonotone(t *testing.T) {
	shorted := func(o *plant.Out) float64 { return math.Abs(o.Value[plant.ShortA]) }
	open := func(o *plant.Out) float64 { return math.Abs(o.Value[plant.OpenV]) }
	rest := func(o *plant.Out) float64 { return o.Value[plant.RestV] }
	tests := []struct {
		name   string
		more   func(d *drawn, x float64) // x from 0 to 1
		of     func(*plant.Out) float64
		rising bool
	}{
		{"more light never gives less short-circuit current",
			func(d *drawn, x float64) { d.u.IrradianceIsolated += 300 * x }, shorted, true},
		{"more light never gives less open-circuit voltage",
			func(d *drawn, x float64) { d.u.IrradianceIsolated += 300 * x }, open, true},
		{"warmer cells never give a higher open-circuit voltage", // by day: a shunt or a leak at dusk lets the current decide
			func(d *drawn, x float64) {
				d.u.IrradianceIsolated, d.u.Fault.LeakA = max(d.u.IrradianceIsolated, 200), 0
				d.u.Fault.ShadeLight = max(d.u.Fault.ShadeLight, 0.3)
				d.u.CellCIsolated += 40 * x
			}, open, false},
		{"a joint before the plug never gives more short-circuit current",
			func(d *drawn, x float64) { d.u.Fault.JointBefore += 5 * x }, shorted, false},
		{"a joint after the plug never gives more short-circuit current",
			func(d *drawn, x float64) { d.u.Fault.JointAfter += 5 * x }, shorted, false},
		{"thinner cables never give more short-circuit current",
			func(d *drawn, x float64) { d.u.Cable += 3 * x }, shorted, false},
		{"a darker shadow never gives more short-circuit current",
			func(d *drawn, x float64) { d.u.Fault.ShadeLight *= 1 - x }, shorted, false},
		{"a leak never gives more open-circuit voltage",
			func(d *drawn, x float64) { d.u.Fault.LeakA += x }, open, false},
		{"more charge rests higher",
			func(d *drawn, x float64) { d.u.SoC += (1 - d.u.SoC) * x; d.u.Surface = 0 }, rest, true},
		{"more charge, denser acid",
			func(d *drawn, x float64) { d.u.SoC += (1 - d.u.SoC) * x },
			func(o *plant.Out) float64 { return o.Value[plant.GravityRest] }, true},
		{"a heavier load step pulls the posts lower",
			func(d *drawn, x float64) { d.u.StepA *= 1 + x },
			func(o *plant.Out) float64 { return o.Value[plant.StepPostV] }, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				d := drawPlant(t)
				x := rapid.Float64Range(0, 1)
				a, b := d, d
				lo, hi := x.Draw(t, "x"), x.Draw(t, "x'")
				tt.more(&a, min(lo, hi))
				tt.more(&b, max(lo, hi))
				oa, ob := a.solve(), b.solve()
				less, more := tt.of(&oa), tt.of(&ob)
				if !tt.rising {
					less, more = more, less
				}
				assert.LessOrEqual(t, less, more+1e-7*(1+math.Abs(more)), "%v", d.ids)
			})
		})
	}
}

// A resistance in the array's way never lets more current through, whichever
// way it flows, as long as the controller does not convert.
func TestResistanceNeverHelps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		if d.site.Controller.Kind == site.MPPT {
			d.site.Controller.Kind = site.Series
		}
		d.u.Fault.ChargeStuck = true // no regulation in the way
		o := d.solve()
		d.u.Fault.JointAfter += rapid.Float64Range(0, 5).Draw(t, "joint")
		w := d.solve()
		if o.LoadsCut != w.LoadsCut || o.LoadsLive != w.LoadsLive {
			return
		}
		before, after := math.Abs(o.Value[plant.ArrayA]), math.Abs(w.Value[plant.ArrayA])
		assert.LessOrEqual(t, after, before+1e-6*(1+before), "%v", d.ids)
	})
}

// The quick way through the tests alone gives what the whole solution gives.
func TestSolveTestsAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		p := plant.New(d.site, 60)
		var whole, part plant.Out
		p.Solve(&d.u, &part)
		d.u.IrradianceIsolated *= 0.9
		d.u.CellCIsolated += 5
		d.u.StepA *= 1.2
		d.u.Surface, d.u.OneMinute = 0.2, 0.7
		p.SolveTests(&d.u, &part)
		p.Solve(&d.u, &whole)
		assert.Equal(t, whole, part, "%v", d.ids)
	})
}

// The same twice: nothing is left over from one solution to the next.
func TestSolveKeepsNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, other := drawPlant(t), drawPlant(t)
		p := plant.New(d.site, 60)
		var a, b plant.Out
		p.Solve(&d.u, &a)
		p.Solve(&other.u, &b)
		p.Solve(&d.u, &b)
		assert.Equal(t, a, b)
	})
}

// Without the battery the posts and the controller are two circuits, and each
// balances by itself.
func TestWithoutBattery(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := drawPlant(t)
		d.u.Fault.BatteryOpen = true
		d.u.Fault.PackOff = false
		o := d.solve()
		v, f := &o.Value, &d.u.Fault
		out := v[plant.BatteryA]
		if !d.site.Controller.LoadOutput {
			out += v[plant.LoadA]
		}
		if f.DrainAt == plant.DrainPosts {
			out += f.DrainA
		}
		assert.InDelta(t, 0, out, 1e-6*(1+math.Abs(v[plant.BatteryA])), "%v", d.ids)

		d.u.Fault.PackOff = true
		o = d.solve()
		assert.Zero(t, o.Value[plant.BatteryA], "%v: a pack that is off", d.ids)
	})
}
