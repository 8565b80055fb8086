package plant_test

import (
	"math"
	"slices"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A notebook takes what a person with ordinary instruments would write down:
// with the instruments' errors, rounded, now and then not at all or wrong.
type notebook struct {
	dice
	set     *reading.Set
	gain    map[reading.Meter]float64 // of each instrument, hidden, in -1 to 1 of its limit
	offset  map[reading.Meter]float64
	suspect []reading.Key
}

const (
	missingShare = 0.1
	wrongLamp    = 0.02
	wrongWord    = 0.07
	straysV      = 0.15 // what a meter shows on terminals that nothing holds
)

func newNotebook(d dice) *notebook {
	n := &notebook{dice: d, set: reading.NewSet(), gain: map[reading.Meter]float64{}, offset: map[reading.Meter]float64{}}
	n.set.Instruments = map[reading.Meter]quantity.Instrument{
		reading.Voltmeter:   {Percent: round(d.between(0.5, 1), 1), Digits: 2, Resolution: 0.01},
		reading.Clamp:       {Percent: round(d.between(1.5, 3), 1), Digits: 5, Resolution: 0.01},
		reading.Light:       {Percent: 7, Digits: 5, Resolution: 1},
		reading.Thermometer: {PlusMinus: 2},
		reading.Hydrometer:  {PlusMinus: 0.005},
	}
	for _, m := range []reading.Meter{reading.Voltmeter, reading.Clamp, reading.Light, reading.Thermometer, reading.Hydrometer} {
		n.gain[m], n.offset[m] = d.between(-1, 1), d.between(-1, 1)
	}
	return n
}

// shown is what the meter shows of v.
func (n *notebook) shown(m reading.Meter, v float64) float64 {
	in := n.set.Instruments[m]
	v *= 1 + in.Percent/100*n.gain[m]
	v += (in.Digits*in.Resolution + in.PlusMinus) * n.offset[m]
	switch m {
	case reading.Light, reading.Thermometer:
		return math.Round(v)
	case reading.Hydrometer:
		return math.Round(v/0.002) * 0.002
	default:
		return round(v, 2)
	}
}

// number notes one reading.
func (n *notebook) number(k reading.Key, v float64) {
	if n.Float64() < missingShare {
		return
	}
	spec, _ := reading.SpecOf(k)
	n.set.Numbers[k] = n.shown(spec.Meter, v)
}

// list notes one reading of each block or cell.
func (n *notebook) list(k reading.Key, vs []float64) {
	if n.Float64() < missingShare {
		return
	}
	spec, _ := reading.SpecOf(k)
	var out []float64
	for _, v := range vs {
		out = append(out, round(n.shown(spec.Meter, v), 3))
	}
	n.set.Lists[k] = out
}

// word notes one of the choices, sometimes the next one.
func (n *notebook) word(k reading.Key, choice int) {
	spec, _ := reading.SpecOf(k)
	if n.Float64() < missingShare {
		return
	}
	if n.Float64() < wrongWord {
		choice += pick(n.dice, -1, 1)
	}
	n.set.Words[k] = spec.Choices[min(max(choice, 0), len(spec.Choices)-1)]
}

// readings notes what the simulator found.
func (n *notebook) readings(tr *trial, v *verdict, short bool) {
	u := &tr.u
	n.number(reading.Irradiance, u.Irradiance)
	n.number(reading.ModuleC, u.CellC)
	n.number(reading.AirC, u.AirC)
	n.number(reading.BatteryC, u.BatteryC)
	for _, spec := range reading.Specs {
		i, ok := plant.IndexOf(spec.Key)
		if !ok || !v.has[i] || spec.Key == reading.ShortA && !short {
			continue
		}
		x := v.value[i]
		if spec.Unit == "V" && math.Abs(x) < 0.005 && u.Irradiance > plant.DaylightFrom {
			x = n.between(0, straysV)
		}
		n.number(spec.Key, x)
	}
	n.number(reading.Irradiance2, u.IrradianceIsolated)
	n.number(reading.ModuleC2, u.CellCIsolated)
	n.set.Numbers[reading.Minutes] = tr.minutes
	n.number(reading.StepA, u.StepA)
	if !tr.u.Fault.PackOff {
		n.battery(tr, v)
	}
}

// battery notes blocks and, of a flooded battery, cells.
func (n *notebook) battery(tr *trial, v *verdict) {
	b := tr.site.Battery
	each := v.value[plant.RestV] / tr.cellCount()
	blocks := make([]float64, b.Blocks)
	for i := range blocks {
		blocks[i] = each*float64(b.CellsPerBlock) + 0.01*n.between(-1, 1)
	}
	bad := n.IntN(b.Cells())
	if tr.u.Fault.ShortedCells > 0 {
		blocks[bad/b.CellsPerBlock] -= each
	}
	n.list(reading.BlockV, blocks)
	if b.Chemistry != site.Flooded {
		return
	}
	// The rule V = SG + 0.845 (from memory), and 0.004 less for each 5.5 K
	// above 25 °C, as an uncorrected hydrometer reads.
	gravity := make([]float64, b.Cells())
	for i := range gravity {
		gravity[i] = tr.cellV() - 0.845 + tr.u.Gravity - 0.004/5.5*(tr.u.BatteryC-25) + 0.003*n.between(-1, 1)
	}
	if tr.u.Fault.ShortedCells > 0 {
		gravity[bad] -= 0.07
	}
	n.list(reading.Gravity, gravity)
}

// lamps notes how the controller's lamps look.
func (n *notebook) lamps(tr *trial, v *verdict) {
	nominal := tr.site.NominalV
	holds := func(l site.Look) bool {
		return !slices.ContainsFunc(l.Means, func(m site.Meaning) bool {
			if !v.powered {
				return m != site.Unpowered && m != site.ArrayDead
			}
			switch m {
			case site.ArrayLive:
				return v.value[plant.ArrayV] < 0.4*nominal
			case site.ArrayDead:
				return v.value[plant.ArrayV] >= 0.4*nominal
			case site.Charging:
				return !v.charging
			case site.NotCharging:
				return v.charging
			case site.Regulating:
				return !v.regulating
			case site.NotRegulating:
				return v.regulating
			case site.BatteryAbove:
				return v.busV < l.Volts
			case site.BatteryBelow:
				return v.busV >= l.Volts
			case site.BatteryBetween:
				return v.busV < l.Volts || v.busV >= l.VoltsTo
			case site.LoadsLive:
				return v.cut
			case site.LoadsCut:
				return !v.cut
			default:
				return true
			}
		})
	}
	for _, lamp := range tr.site.Controller.Lamps {
		i := slices.IndexFunc(lamp.Looks, holds)
		if i < 0 || n.Float64() < missingShare {
			continue
		}
		if n.Float64() < wrongLamp {
			i = n.IntN(len(lamp.Looks))
		}
		n.set.Words[reading.Lamp(lamp.Label)] = lamp.Looks[i].Look
	}
}

// spoil makes one reading wrong, or all of a clamp that was not set to zero.
func (n *notebook) spoil() {
	clamps := []reading.Key{reading.ArrayA, reading.BatteryA, reading.LoadA}
	clamps = slices.DeleteFunc(clamps, func(k reading.Key) bool { return !n.set.Has(k) })
	volts := []reading.Key{reading.ArrayV, reading.BatteryV, reading.PostV, reading.OpenV, reading.RestV}
	volts = slices.DeleteFunc(volts, func(k reading.Key) bool { return math.Abs(n.set.Numbers[k]) < 2 })
	change := func(k reading.Key, v float64) {
		n.set.Numbers[k] = round(v, 2)
		n.suspect = append(n.suspect, k)
	}
	switch kind := n.IntN(4); {
	case kind == 0 && len(clamps) > 0:
		zero := n.between(0.3, 1) * pick(n.dice, -1.0, 1)
		for _, k := range clamps {
			change(k, n.set.Numbers[k]+zero)
		}
	case kind == 1 && len(clamps) > 0:
		k := pick(n.dice, clamps...)
		if v := n.set.Numbers[k]; math.Abs(v) > 0.3 && k != reading.LoadA { // turned round
			change(k, -v)
		}
	case kind == 2 && len(volts) > 0: // the probe slipped
		k := pick(n.dice, volts...)
		change(k, n.set.Numbers[k]*n.between(0.3, 0.85))
	case len(volts) > 0: // a digit mistyped
		k := pick(n.dice, volts...)
		change(k, n.set.Numbers[k]+pick(n.dice, -3.0, -2, 2, 3))
	}
}
