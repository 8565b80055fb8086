package main

import (
	"fmt"
	"slices"
)

// drawParts draws how the new parts stand.
func (d dice) drawParts(w *world) {
	s := w.site
	if s.Inverter != nil {
		w.inverterX, w.inverterJ = d.between(0.97, 1.03), d.log(0.0003, 0.008)
		w.standbyOn = d.chance(0.5)
		w.inverterOn = d.chance(0.5)
		for _, l := range s.Loads {
			if s.source(l) == fromInverter && slices.Contains(w.loadsOn, l.Label) {
				w.inverterOn = true
			}
		}
	}
	if s.Charger != nil {
		w.chargerOn, w.chargerFloat = d.chance(0.35), w.stage == "float"
	}
	w.earthedTo = w.pole()
	if w.earthedTo == "unknown" {
		w.earthedTo = pick(d, "none", "none", "minus", "plus")
	}
	// Insulation of a small plant, dry or wet (judgement).
	w.leakPlus, w.leakMinus = d.log(2e5, 5e7), d.log(2e5, 5e7)
}

// pole is which pole is earthed on purpose, by the site file.
func (w *world) pole() string {
	if w.site.Earthing == nil {
		return "unknown"
	}
	return w.site.Earthing.Pole
}

// inverterW is what an inverter takes from its DC side [W].
func (w *world) inverterW(loadW float64) float64 {
	i := w.site.Inverter
	third := i.RatedW / 3
	eff := third / (third/i.Efficiency - i.IdleW) // apart from the idle draw
	return (i.IdleW + loadW/eff) / w.inverterX
}

// wireInverter wires the inverter's DC side to node from; its terminals are PREFIXiv.
func (w *world) wireInverter(c *netlist, prefix, from string, on bool, loadW float64) {
	i := w.site.Inverter
	end := prefix + "iv"
	ohm := loop(i.CableM, i.CableMM2, w.airC) + w.inverterJ + w.fault.inverterJoint
	c.resistor(from, prefix+"ii", ohm)
	c.ammeter(prefix+"inv", prefix+"ii", end)
	c.meter(end)
	c.guess(float64(w.site.NominalV), prefix+"ii", end)
	if on {
		c.power(end, w.inverterW(loadW), float64(w.site.NominalV))
	}
}

// wireCharger is a charger that gives its rated current up to its set-point.
func (w *world) wireCharger(c *netlist, prefix, node string) {
	g := w.site.Charger
	c.ammeter(prefix+"chg", prefix+"gg", node)
	c.resistor(prefix+"gg", "0", meterOhm)
	if !w.chargerOn {
		return
	}
	v := g.AbsorbV
	if w.chargerFloat {
		v = g.FloatV
	}
	n := w.site.twelves()
	const knee = 0.05 // how sharply it holds its voltage [V] for 12 V
	at := fmt.Sprintf("(%s-V(%s))/%s", number(v), prefix+"gg", number(knee*n))
	c.behave("0", prefix+"gg", fmt.Sprintf("%s*(%s > 1 ? 1 : (%s > 0 ? %s : 0))", number(g.RatedA), at, at, at))
	c.guess(v, prefix+"gg")
}

// wireEarth has two copies of the plant's voltage v, since one meter loads one pole at a
// time: v(gP) and v(gM) are the earth's voltages above minus.
func (w *world) wireEarth(c *netlist, v float64) {
	for _, pole := range []string{"p", "m"} {
		plus, earth := "t"+pole, "g"+pole
		c.voltage(plus, "0", v)
		c.resistor(plus, earth, w.leakPlus)
		c.resistor(earth, "0", w.leakMinus)
		const bond = 0.5 // an electrode's lead [ohm]; the electrode itself carries no current here
		switch w.earthedTo {
		case "plus":
			c.resistor(plus, earth, bond)
		case "minus":
			c.resistor(earth, "0", bond)
		}
		if w.fault.earthOhm > 0 {
			c.voltage("f"+pole, "0", v*w.fault.earthAt)
			c.resistor("f"+pole, earth, w.fault.earthOhm)
		}
		if pole == "p" {
			c.resistor(plus, earth, meterOhm)
		} else {
			c.resistor(earth, "0", meterOhm)
		}
		c.probes = append(c.probes, "v("+earth+")")
	}
}
