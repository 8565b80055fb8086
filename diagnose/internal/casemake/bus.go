package main

import (
	"fmt"
	"slices"
)

// How the array is joined to the battery side.
type link int

const (
	apart     link = iota // only what leaks back
	closed                // through the blocking part
	shorted               // a shunt controller turns all away
	backwards             // leads exchanged
	converted             // an mppt converter works
	held                  // apart, and a source holds the battery side at the set-point
)

// A stand is one way the plant may stand.
type stand struct {
	link             link
	output, inverter bool
	powered          bool    // the controller works
	converterW       float64 // what a converter delivers
	arrayV           float64 // and where it holds its array
	frozen           *frozen
}

// circuit is the plant as found, standing so.
func (w *world) circuit(st stand) *netlist {
	c := &netlist{}
	w.wireArray(c, "", w.light, w.cellC)
	w.wireLink(c, st)
	w.wireBus(c, "", st, false)
	return c
}

// wireLink joins the array's end "a" to the battery terminals "b".
func (w *world) wireLink(c *netlist, st stand) {
	rated := w.site.Control.RatedA
	c.resistor("a", "b", w.array.leakToBack)
	c.resistor("a", "0", w.array.sense)
	switch st.link {
	case closed:
		w.path(c, "a", "b", rated)
	case shorted:
		c.resistor("a", "w", 0.005)
		c.dropping("w", "0", 0.05, rated, 0.005)
	case backwards:
		// The array's plus is at the controller's minus: seen from the array's own side, a
		// protection diode conducts its current, with 0.7 V across.
		if w.reverse {
			c.dropping("a", "0", 0.75, rated, 0.04)
		}
	case converted:
		c.voltage("a", "0", st.arrayV)
		c.behave("0", "b", fmt.Sprintf("%s/(V(b) > %s ? V(b) : %s)", number(st.converterW), number(w.low()), number(w.low())))
	case held:
		c.line("Vhold b 0 %s", number(w.setPoint()))
		c.probes = append(c.probes, "i(vhold)")
	}
	// A failed blocking part conducts both ways, where no switch is open by day.
	if w.fault.leakOhm > 0 && (st.link == closed || st.link == apart && w.light < duskFrom) {
		c.resistor("b", "a", w.pathOhm+0.05)
	}
}

// path is the blocking part with its drop.
func (w *world) path(c *netlist, from, to string, rated float64) {
	mid := from + "path"
	c.dropping(from, mid, w.pathV, rated, w.pathA)
	c.resistor(mid, to, w.pathOhm)
}

// low is a voltage below which nothing works as it should [V].
func (w *world) low() float64 { return 0.5 * float64(w.site.NominalV) }

// wireBus wires all behind the controller's battery terminals: PREFIXb, posts p, load
// output l, far end e, and what the site has besides. In standby no load is on.
func (w *world) wireBus(c *netlist, prefix string, st stand, standby bool) {
	s, f := w.site, &w.fault
	node := func(n string) string { return prefix + n }
	b, p, l, e := node("b"), node("p"), node("l"), node("e")
	line := loop(s.Battery.CableM, s.Battery.CableMM2, w.airC) + w.battJ + f.batteryJoint
	if f.batteryOpen {
		line = openOhm
	}
	c.resistor(b, p, line)
	n := float64(s.NominalV)
	r := rested{share: 1}
	if f.packOff {
		c.voltage(node("pack"), "0", float64(s.cells())*w.store.emf(w.store.soc))
		c.resistor(node("pack"), p, w.packLeak)
	} else {
		w.battery(c, p, prefix, r, st.frozen)
	}
	c.guess(n*1.05, b, p, l, e)
	if st.powered {
		c.draw(b, s.Control.OwnUseMA/1000*w.own)
	} else {
		c.resistor(b, "0", w.bleed)
	}
	outer, inner := p, openOhm
	if s.Control.Output {
		outer = b
		if st.output {
			inner = w.outputOhm
		}
	} else {
		inner = leastOhm
	}
	c.resistor(outer, node("lo"), inner)
	c.ammeter(node("il"), node("lo"), l)
	c.guess(n, node("lo"))
	if f.drainA > 0 {
		c.draw(map[string]string{atPosts: p, atBus: b, atOutput: l}[f.drainAt], f.drainA)
	}
	ohm := loop(s.Wiring.CableM, s.Wiring.CableMM2, w.airC) + w.loadJ + f.loadJoint
	if f.loadOpen {
		ohm = openOhm
	}
	c.resistor(l, e, ohm)
	c.meter(b, p, l, e)
	onInverter := w.wireLoads(c, prefix, standby)
	if s.Inverter != nil {
		from := p
		if s.Inverter.From == fromOutput {
			from = l
		}
		w.wireInverter(c, prefix, from, st.inverter && !f.inverterOff, onInverter)
	}
	if s.Charger != nil && !standby {
		w.wireCharger(c, prefix, p)
	}
}

// wireLoads wires the loads that are on; it gives what hangs on the inverter [W].
func (w *world) wireLoads(c *netlist, prefix string, standby bool) (onInverter float64) {
	var main, beside sum
	for _, l := range w.site.Loads {
		if standby || !slices.Contains(w.loadsOn, l.Label) {
			continue
		}
		watts := l.PowerW * w.drawn[l.Label]
		if w.fault.loadX > 0 {
			watts = l.PowerW * w.fault.loadX * (0.97 + 0.06*w.shapes[l.Label].power)
		}
		if l.Label == w.fault.badLoad {
			watts = l.PowerW * w.fault.badShare
		}
		switch {
		case w.site.source(l) == fromInverter:
			onInverter += watts
		case w.site.onMain(l):
			main.add(w.shapes[l.Label], watts)
		default:
			beside.add(w.shapes[l.Label], watts)
		}
	}
	main.wire(c, prefix+"e", float64(w.site.NominalV))
	if w.site.Control.Output && beside.watts > 0 { // past the controller
		c.resistor(prefix+"p", prefix+"ke", loop(w.site.Wiring.CableM, w.site.Wiring.CableMM2, w.airC)+w.loadJ)
		beside.wire(c, prefix+"ke", float64(w.site.NominalV))
		c.guess(float64(w.site.NominalV), prefix+"ke")
	}
	return onInverter
}

// A sum of loads by their shapes [W].
type sum struct{ watts, power, ohmic, steady float64 }

func (s *sum) add(sh shape, watts float64) {
	s.watts += watts
	s.power += watts * sh.power
	s.ohmic += watts * sh.ohmic
	s.steady += watts * sh.steady
}

func (s *sum) wire(c *netlist, node string, nominal float64) {
	if s.ohmic > 0 {
		c.resistor(node, "0", nominal*nominal/s.ohmic)
	}
	if s.steady > 0 {
		c.draw(node, s.steady/nominal)
	}
	if s.power > 0 {
		c.power(node, s.power, nominal)
	}
}

// draw takes a constant current, for which it needs some voltage.
func (c *netlist) draw(node string, amps float64) {
	if amps > 0 {
		c.behave(node, "0", fmt.Sprintf("%s*(V(%s) > 2 ? 1 : V(%s)/2)", number(amps), node, node))
	}
}

// power takes constant power; below 0.6 of the nominal voltage it acts as a resistor.
func (c *netlist) power(node string, watts, nominal float64) {
	least := 0.6 * nominal
	v := "V(" + node + ")"
	c.behave(node, "0", fmt.Sprintf("%s*%s/(%s > %s ? %s*%s : %s)", number(watts), v, v, number(least), v, v, number(least*least)))
}
