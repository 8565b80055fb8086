package main

import "fmt"

// A spread is what sets one module apart from the label: current and voltage.
type spread struct{ amps, volts float64 }

// An arrayTruth is the physics of an array beyond its cells.
type arrayTruth struct {
	cell       cellKind
	modules    [][]spread // by string
	bypassV    float64    // drop of a bypass diode at Isc [V]
	bypassA    float64    // its slope [V]
	soiling    float64
	cableX     float64 // resistance of a cable against the table's
	joint      float64 // [ohm], normal
	spectral   float64 // light that the cells use, against the meter's
	uneven     float64 // the clamp and the light are not read in the same second
	cellAbove  float64 // cell above the module's back in full light [K]
	leakToBack float64 // what the controller lets back into a dark array [ohm]
	sense      float64 // the divider by which it senses the array [ohm]
}

// drawArray draws a sound array.
func (d dice) drawArray(s *siteFile, cell cellKind) arrayTruth {
	a := arrayTruth{
		cell:    cell,
		soiling: clamp(-0.025*logOf(d.Float64()), 0, 0.2),
		cableX:  d.between(0.92, 1.15), joint: d.log(0.001, 0.03),
		spectral: d.between(0.98, 1.02), uneven: d.between(0.99, 1.01),
		cellAbove: d.between(0, 3), // contact thermometer on the back (from memory)
		sense:     d.log(10e3, 100e3),
	}
	// From a good blocking diode to a poor one (judgement). An open pair of leads then floats at
	// up to some volts; an array in the dark stands at 0.25 V at most.
	darkOhm := float64(s.Array.Series*s.Array.Module.Cells) / float64(s.Array.Strings) / cell.at(0, 20).gsh
	const mostDark = 0.25 // [V]
	a.leakToBack = max(d.log(100e3, 10e6), float64(s.NominalV)/mostDark/(1/darkOhm+1/a.sense))
	if d.chance(0.5) { // silicon
		a.bypassV, a.bypassA = d.between(0.65, 0.85), d.between(0.03, 0.045)
	} else { // Schottky
		a.bypassV, a.bypassA = d.between(0.3, 0.5), d.between(0.026, 0.03)
	}
	// A label is right within some per cent: tolerance, ageing within a sound range (judgement).
	amps, volts := d.between(0.955, 1.03), d.between(0.985, 1.012)
	mismatch := d.between(0.002, 0.02)
	for range s.Array.Strings {
		var str []spread
		for range s.Array.Series {
			str = append(str, spread{amps * (1 + mismatch*d.between(-1, 1)), volts * (1 + 0.4*mismatch*d.between(-1, 1))})
		}
		a.modules = append(a.modules, str)
	}
	return a
}

// conductor is the resistance of class 5 plain copper at 20 °C [ohm/km] by cross-section
// [mm²]; it rises by 0.393 % per kelvin.
//
// Source: IEC 60228 (read in reproductions).
var conductor = map[float64]float64{1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554}

// loop is the resistance of a cable of two wires, m one way.
func loop(m, mm2, tempC float64) float64 {
	return 2 * m * conductor[mm2] / 1000 * (1 + 0.00393*(tempC-20))
}

// wireArray wires the modules, joints and cable; node prefix+"a" is the controller's
// end, prefix+"m" the plug, i(vPREFIXaa) the current toward the controller.
func (w *world) wireArray(c *netlist, prefix string, light, cellC float64) {
	a, f, s := &w.array, &w.fault, w.site
	light *= (1 - a.soiling) * (1 - f.lightLost) * a.spectral * (1 - f.currentLost)
	lit, dim := a.cell.at(light, cellC), a.cell.at(light*f.shadeLight, cellC)
	top := prefix + "x"
	groups := s.Array.Module.Bypass
	for n, str := range a.modules {
		if n < f.stringsOpen {
			continue
		}
		at := "0"
		for m, sp := range str {
			for g := range groups {
				next := fmt.Sprintf("%sn%dm%dg%d", prefix, n, m, g)
				if m == len(str)-1 && g == groups-1 {
					next = top
				}
				cell := lit
				index := m*groups + g
				shorted := n == 0 && index < f.bypassShorts
				if n == 0 && index >= f.bypassShorts && index < f.bypassShorts+f.shadedGroups {
					cell = dim
				}
				w.group(c, at, next, cell, sp, shorted)
				at = next
			}
		}
	}
	if f.leakOhm > 0 {
		c.resistor(top, "0", f.leakOhm)
	}
	before, after := f.jointBefore, w.cableOhm()+a.joint+f.jointAfter
	switch f.arrayOpen {
	case beforePlug:
		before = openOhm
	case afterPlug:
		after = openOhm
	}
	plug, end := prefix+"m", prefix+"a"
	c.resistor(top, plug, before)
	if f.cableShort > 0 { // part of the way along the cable
		c.resistor(plug, prefix+"k", after*f.shortAt)
		c.resistor(prefix+"k", "0", f.cableShort)
		plug, after = prefix+"k", after*(1-f.shortAt)
	}
	c.resistor(plug, prefix+"i", after)
	c.ammeter(prefix+"aa", prefix+"i", end)
	c.meter(prefix+"m", end)
}

func (w *world) cableOhm() float64 {
	return loop(w.site.Array.CableM, w.site.Array.CableMM2, w.airC) * w.array.cableX
}

// group wires the cells of one bypass group between minus and plus.
func (w *world) group(c *netlist, minus, plus string, l litCell, sp spread, shorted bool) {
	if shorted {
		c.resistor(minus, plus, 0.001)
		return
	}
	n := float64(w.site.Array.Module.Cells / w.site.Array.Module.Bypass)
	c.n++
	j := fmt.Sprintf("%sj%d", plus, c.n)
	c.current(minus, j, l.il*sp.amps)
	c.diode(j, minus, l.i01, n*l.a1*sp.volts)
	if l.i02 > 0 {
		c.diode(j, minus, l.i02, n*l.a2*sp.volts)
	}
	c.resistor(j, minus, n/l.gsh)
	c.resistor(j, plus, n*l.rs)
	c.dropping(minus, plus, w.array.bypassV, w.site.Array.Module.Isc, w.array.bypassA)
}
