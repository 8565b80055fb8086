package main

import (
	"fmt"
	"math"
)

// laws are the forms of the voltage under current. Each exists for lead-acid and LFP.
var laws = []string{copetti, shepherd, butlerVolmer, tafel}

const (
	copetti      = "copetti"       // Copetti, Lorenzo, Chenlo, Progress in Photovoltaics 1 (1993), coefficients from memory
	shepherd     = "shepherd"      // Shepherd, J. Electrochem. Soc. 112 (1965): resistance that grows with 1/charge
	butlerVolmer = "butler-volmer" // two exponentials, with exchange currents of their own
	tafel        = "tafel"         // a·asinh(i/i0)
)

// A store is the physics of a battery, drawn anew for every case.
type store struct {
	law    string
	rest   []float64 // of a cell over charge [V]
	hyst   float64   // an LFP cell's rest voltage lies this far off after charge or discharge [V]
	surf   float64   // surface charge of a cell as found [V]
	surfT  float64   // it fades with this time [min]
	ohm    float64   // of a cell, times its capacity [ohm·Ah]
	cold   float64   // how the resistance grows with cold [1/K]
	wear   float64   // resistance against new
	part   float64   // present share of the capacity
	soc    float64   // of the present capacity
	pol    float64   // strength of the overvoltages
	aC, aD float64   // slopes of charge and discharge [V]
	iC, iD float64   // exchange currents for each Ah [1/h]
	gas    float64   // gassing at 2.23 V for each Ah [1/h], 0 for none
	quick  float64   // share of the overvoltage with the short time
	tQuick float64   // [min]
	tSlow  float64   // [min]
	dense  float64   // density beside the rest voltage's: stratified or other acid
	plus   float64   // rest voltage less density [V]

	strings []stringOf
}

// A stringOf is what sets one battery string apart.
type stringOf struct {
	ohmX, socD float64
	open       bool
	odd        oddBlock
}

// An oddBlock is a block unlike its neighbours; cells 0: there is none.
type oddBlock struct {
	block   int
	cells   int // that give voltage
	left    float64
	wear    float64 // resistance against its neighbours
	below   float64 // its cells' rest voltage is lower by so much [V]
	acid    float64 // density of the bad cell below its neighbours'
	badCell int
}

// drawStore draws a sound battery.
func (d dice) drawStore(s *siteFile) store {
	b := store{
		law: pick(d, laws...), cold: d.between(0.005, 0.015), pol: d.between(0.75, 1.25),
		wear: d.between(1, 1.8), part: d.between(0.8, 1.05),
		// Two RC stages: seconds to minutes, and up to hours (impedance spectra, from memory).
		quick: d.between(0.35, 0.8), tQuick: d.log(0.2, 3), tSlow: d.log(15, 150),
		plus: d.between(0.838, 0.848),
	}
	if s.leadAcid() {
		b.rest = d.drawLeadAcidRest(s.Battery.Chemistry != flooded)
		// 4 to 8 milliohm for 12 V 100 Ah; makers differ by 1.7 (common practice).
		b.ohm = 0.085 * d.log(1/1.4, 1.4)
		// A new 17 Ah battery dropped 0.3 to 0.6 V·Ah/A a cell in its first minute (leadacid17ah).
		b.aC, b.aD = d.between(0.03, 0.065), d.between(0.012, 0.028)
		b.iC, b.iD = d.log(0.006, 0.03), d.log(0.005, 0.02)
		b.gas = d.log(0.00007, 0.0006) // ten times from low-antimony new to old plates (judgement)
		b.dense = -d.between(-0.004, 0.014)
		b.surfT = d.log(60, 400)
	} else {
		b.rest = d.drawLFPRest()
		b.hyst = d.between(0.003, 0.025)
		b.ohm = 0.10 * d.log(0.5, 2)
		b.aC, b.aD = d.between(0.008, 0.022), d.between(0.008, 0.022)
		b.iC, b.iD = d.log(0.004, 0.03), d.log(0.004, 0.03)
		b.surfT = d.log(20, 120)
	}
	for range s.batteryStrings() {
		b.strings = append(b.strings, stringOf{ohmX: d.between(0.88, 1.12), socD: d.between(-0.01, 0.01)})
	}
	if len(b.strings) == 1 {
		b.strings[0] = stringOf{ohmX: 1}
	}
	return b
}

// emf of one cell without current [V], before surface charge.
func (b *store) emf(soc float64) float64 { return interpolate(b.rest, soc) }

// eta is the expression of a cell's overvoltage [V] by the current i [A], positive in
// charge, of a string of ah [Ah]; share of it has built up.
func (b *store) eta(i string, ah, wear, soc, tempC, share float64) string {
	soc = clamp(soc, 0.02, 0.995)
	x := wear * (1 - b.cold*(tempC-stcC)) / ah
	lfpShare := 1.0
	if b.gas == 0 {
		lfpShare = 0.3 // LFP cells polarise about a third as much (judgement)
	}
	room := max(1-soc, 0.004) / 0.5
	k := share * b.pol
	switch b.law {
	case copetti:
		// The published coefficients are for a battery near 100 Ah. About half of each is the
		// resistance, which is reckoned apart.
		k *= lfpShare
		p := number(100 / ah)
		return fmt.Sprintf("%s*%s*(%s > 0 ? 6/(1+pow(abs(%s)*%s,0.86))*0.5+%s : 4/(1+pow(abs(%s)*%s,1.3))*0.4+%s)",
			number(k*x), i, i, i, p, number(0.48/math.Pow(1-soc, 1.2)*0.6), i, p, number(0.15/math.Pow(max(soc, lawFloor), 1.5)))
	case shepherd:
		k *= lfpShare
		return fmt.Sprintf("%s*%s*(%s > 0 ? %s : %s)", number(k*x), i, i, number(0.45/(1.02-soc)), number(0.22/max(soc, lawFloor)+0.1))
	default:
		up, down := b.iC*room/x, b.iD*math.Pow(soc/0.5, 0.7)/x
		return fmt.Sprintf("%s*(%s > 0 ? %s*asinh(%s/%s) : %s*asinh(%s/%s))",
			number(k), i, number(b.aC), i, number(up), number(b.aD), i, number(down))
	}
}

// gassing rises by this for each volt of a cell, and by a share for each kelvin.
//
// Source: Schiffer, Sauer et al., J. Power Sources 168 (2007): 11 1/V, 0.06 1/K, 2.23 V.
const (
	gasPerV = 11.0
	gasAtV  = 2.23
	gasPerC = 0.06
)

// lawFloor is the charge below which two of the laws would let a sound battery collapse
// (judgement: a measured 17 Ah battery did so only when empty).
const lawFloor = 0.3

// A rested battery has lain apart for some time. As found it has not.
type rested struct {
	minutes float64
	share   float64   // of the overvoltage that a current has built up; 1 after hours
	left    []float64 // overvoltage of each string as found, of a cell [V]
}

// left of the overvoltage after minutes.
func (b *store) leftAfter(minutes float64) float64 {
	return b.quick*math.Exp(-minutes/b.tQuick) + (1-b.quick)*math.Exp(-minutes/b.tSlow)
}

// A section of a battery string: n cells alike in series.
type section struct {
	name        string
	top, bottom string
	cells       float64
	wear, emf   float64
	left        float64 // voltage that a shorted cell keeps [V]
}

// sections of string k from its plus to its minus: the odd block last.
func (w *world) sections(k int, prefix string, r rested) []section {
	b, s := &w.store, w.site
	str := b.strings[k]
	soc := clamp(b.soc+str.socD, 0, 1)
	emf := b.emf(soc) + b.surf*math.Exp(-r.minutes/b.surfT)
	if r.left != nil {
		emf += r.left[k] * b.leftAfter(r.minutes)
	}
	whole := section{name: fmt.Sprintf("%sb%d", prefix, k), cells: float64(s.cells()), wear: b.wear * str.ohmX, emf: emf}
	if str.odd.cells == 0 {
		return []section{whole}
	}
	odd := whole
	whole.cells -= float64(s.Battery.CellsEach)
	odd.name += "x"
	odd.cells, odd.left = float64(str.odd.cells), str.odd.left
	odd.wear *= str.odd.wear
	odd.emf -= str.odd.below
	if whole.cells == 0 {
		return []section{odd}
	}
	return []section{whole, odd}
}

// battery wires all strings to the node; their currents are i(vPREFIXsK), positive in
// charge.
func (w *world) battery(c *netlist, node, prefix string, r rested, f *frozen) {
	for k := range w.store.strings {
		at := fmt.Sprintf("%ss%d", prefix, k)
		top := at + "t"
		c.ammeter(at, node, top)
		if w.store.strings[k].open {
			next := at + "o"
			c.resistor(top, next, openOhm)
			top = next
		}
		sections := w.sections(k, prefix, r)
		for n, sec := range sections {
			bottom := fmt.Sprintf("%sm%d", at, n)
			if n == len(sections)-1 {
				bottom = "0"
			} else {
				c.probes = append(c.probes, "v("+bottom+")")
			}
			sec.top, sec.bottom = top, bottom
			w.section(c, sec, r, f)
			top = bottom
		}
	}
}

// section wires resistance, overvoltage, rest voltage and gassing.
func (w *world) section(c *netlist, s section, r rested, f *frozen) {
	b := &w.store
	ah := w.site.Battery.CapacityAh / float64(len(b.strings))
	m, q, e := s.name+"m", s.name+"q", s.name+"e"
	ohm := s.cells * b.ohm / ah * s.wear * math.Exp(-b.cold*(w.batteryC-stcC))
	c.resistor(s.top, m, ohm)
	c.ammeter(s.name+"l", m, q)
	c.probes = append(c.probes, "v("+q+")", "v("+e+")")
	c.voltage(e, s.bottom, s.cells*s.emf+s.left)
	top := w.cellsIn(s)
	c.guess(top, s.top, m, q, e)
	if f != nil {
		c.voltage(q, e, f.eta[s.name])
		return
	}
	soc := b.soc
	c.follow(q, e, fmt.Sprintf("%s*(%s)", number(s.cells), b.eta("i(v"+s.name+"l)", ah, s.wear, soc, w.batteryC, r.share)))
	if b.gas > 0 && r.minutes == 0 {
		zero := b.gas * ah * math.Exp(gasPerC*(w.batteryC-20)) * math.Exp(-gasPerV*gasAtV)
		c.diode(m, s.bottom, zero, s.cells/gasPerV)
	}
}

// cellsIn is a voltage to start from.
func (w *world) cellsIn(s section) float64 {
	v := s.cells * s.emf
	if s.bottom != "0" {
		v += float64(w.site.Battery.CellsEach) * s.emf
	}
	return v
}

// A frozen battery keeps the overvoltages of the mean current while a controller
// switches, for the double layer, tens of farads, carries the pulses (from memory).
type frozen struct{ eta map[string]float64 }

func freeze(out solved) *frozen {
	f := &frozen{eta: map[string]float64{}}
	for name, v := range out {
		if n := len(name); n > 4 && name[:2] == "v(" && name[n-2:] == "q)" {
			section := name[2 : n-2]
			f.eta[section] = v - out["v("+section+"e)"]
		}
	}
	return f
}

// etas are the overvoltages of a cell of each string as found.
func (w *world) etas(out solved, prefix string) []float64 {
	list := make([]float64, len(w.store.strings))
	for k := range list {
		s := w.sections(k, prefix, rested{share: 1})[0]
		list[k] = (out["v("+s.name+"q)"] - out["v("+s.name+"e)"]) / max(s.cells, 1)
	}
	return list
}
