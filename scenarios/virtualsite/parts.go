package virtualsite

import (
	"fmt"
	"math"
	"slices"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// SwitchInverter switches the inverter on or off by its own switch.
func (b *Bench) SwitchInverter(on bool) {
	if b.setup.Site.Inverter != nil && b.u.InverterOn != on {
		b.switchPart(&b.u.InverterOn, on)
	}
}

// SwitchCharger switches the mains charger on or off.
func (b *Bench) SwitchCharger(on bool) {
	if b.setup.Site.Charger != nil && b.u.ChargerOn != on {
		b.switchPart(&b.u.ChargerOn, on)
	}
}

func (b *Bench) switchPart(part *bool, on bool) {
	before := b.unknowns()
	*part = on
	b.settle(before)
	if b.asFound() {
		b.newMoment()
	}
	b.pass(oneReading)
}

// InverterOn reports whether there is an inverter and it is switched on.
func (b *Bench) InverterOn() bool { return b.setup.Site.Inverter != nil && b.u.InverterOn }

// ChargerOn reports whether there is a mains charger and it is switched on.
func (b *Bench) ChargerOn() bool { return b.setup.Site.Charger != nil && b.u.ChargerOn }

// PartsAsFound puts the inverter's and the charger's switch back as they were found.
func (b *Bench) PartsAsFound() {
	b.SwitchInverter(b.setup.Unknowns.InverterOn)
	b.SwitchCharger(b.setup.Unknowns.ChargerOn)
}

// partsPut reports whether the switches of the inverter and the charger are so.
func (b *Bench) partsPut() bool {
	return b.u.InverterOn == b.setup.Unknowns.InverterOn && b.u.ChargerOn == b.setup.Unknowns.ChargerOn
}

// How loads draw that are not steady (judgement, as in the diagnosis): of its time a
// cycling one runs so much, an unsteady one draws from so much of its label's power to all
// of it.
const (
	cyclesOn   = 0.4
	drawsLeast = 0.3
)

// drawn is what the i-th load of the site draws now [W], if nothing is wrong with it.
func (b *Bench) drawn(i int) float64 {
	l := b.setup.Site.Loads[i]
	if !slices.Contains(b.on, l.Label) {
		return 0
	}
	w := l.PowerW * b.loadTol
	x := b.random("draws "+l.Label, b.moment).Float64()
	switch {
	case l.Kind == site.Cycling && x > cyclesOn:
		return 0
	case l.Kind == site.Unsteady:
		return w * (drawsLeast + (1-drawsLeast)*x)
	}
	return w
}

// Of supply of a load from where on it works, and from where on it works well, as shares
// of the nominal voltage (common practice: lamps and chargers stop at about half, and are
// dim below 85 %).
const (
	runsFrom = 0.5
	workFrom = 0.85
)

// serves is what the i-th load would do if it is switched on; an inverter that was switched
// off is switched on for it.
func (b *Bench) serves(i int) Service {
	s, o, nominal := b.setup.Site, &b.solve().found, b.setup.Site.NominalV
	volts := func(k plant.Index) float64 { x, _ := b.value(o, k); return x }
	end := volts(plant.PostV)
	switch from := s.SourceOf(s.Loads[i]); {
	case from == site.FromInverter:
		runs := o.InverterRuns || !o.InverterLow && !o.InverterOver && !b.u.Fault.InverterOff && volts(plant.InverterV) > s.Inverter.CutV
		if end = 0; runs {
			end = nominal
		}
	case from == s.MainSource():
		end = volts(plant.LoadEndV)
	}
	switch {
	case b.u.Fault.DeadLoad == i+1 || end < runsFrom*nominal:
		return Off
	case end < workFrom*nominal:
		return Dim
	}
	return Works
}

// notWorking are the labels of the loads that do not work when they are switched on.
func (b *Bench) notWorking() []string {
	list := []string{}
	for i, l := range b.setup.Site.Loads {
		if b.serves(i) == Off {
			list = append(list, l.Label)
		}
	}
	return list
}

// stringAmps are the currents of the battery's strings in order [A]; the odd one's place is
// drawn.
func (b *Bench) stringAmps() []float64 {
	v := &b.solve().found.Value
	low, rest := v[plant.StringLow], v[plant.StringRest]
	list := slices.Repeat([]float64{rest}, b.setup.Site.Battery.Parallel())
	if at := b.random("string", 0).IntN(len(list)); !b.open.BatteryFuse {
		list[at] = low
	}
	return list
}

func (b *Bench) eachString(turned bool) Display {
	d := Display{Shown: true}
	if b.asFound() {
		d.Reading = reading.StringA
	}
	for _, x := range b.stringAmps() {
		if turned {
			x = -x
		}
		one := b.amps(reading.StringA, x)
		if !one.Shown {
			return one
		}
		d.List, d.Coarse = append(d.List, one.Value), one.Coarse
	}
	d.Text = listText(d.List, "A")
	if turned { // as the reading counts them
		for i := range d.List {
			d.List[i] = -d.List[i]
		}
	}
	return d
}

// packSpread is by how much a pack's own count of its charge strays [%] (judgement).
const packSpread = 4

// pack is what the display of a pack shows: percent, and whether it warns. One that is off
// shows nothing.
func (b *Bench) pack() (percent Display, alarm bool, shows bool) {
	if b.setup.Site.Battery.Chemistry != site.LFP || b.kit() != nil {
		return Display{}, false, false
	}
	s, r := b.solve(), b.random("pack", 0)
	x := s.found.Value[plant.PackPercent] + packSpread*min(max(r.NormFloat64(), -2), 2)
	x = math.Round(min(max(b.misled(reading.PackPercent, x), 0), 100))
	often := 0.03 // for a reason that is none of ours
	if f := &b.u.Fault; f.PackOff || f.ShortedCells > 0 {
		often = 0.6
	}
	d := Display{Text: fmt.Sprintf("%.0f %%", x), Value: x, Reads: x, Shown: true, Reading: reading.PackPercent, Coarse: 1}
	return d, r.Float64() < often, !b.u.Fault.PackOff
}
