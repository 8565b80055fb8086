package main

import "math"

// Physical constants, SI 2019, and the zero of the Celsius scale.
const (
	boltzmannEV = 8.617333262e-5 // [eV/K]
	zeroC       = 273.15
	stcC        = 25.0
	stcLight    = 1000.0 // [W/m2]
)

func expm1(x float64) float64 { return math.Expm1(x) }

// A cellKind is the physics of a crystalline cell. Forms: one diode of ideality 1.0
// to 1.6, or two, the second for recombination with an ideality of 2. Eight measured
// modules ask for a slope of Voc with light as of an ideality near 1.3, and in weak light
// their power lies from far under to above what a fit of the nameplate says, since
// shunts differ tenfold (NREL mPERT data of 2014, public figures).
type cellKind struct {
	isc, voc   float64 // per cell at standard test conditions [A], [V]
	ideality   float64 // of the first diode
	i01, i02   float64 // saturation currents [A]; i02 is 0 for one diode
	rs         float64 // [ohm]
	gsh        float64 // shunt conductance [S]
	shuntLight float64 // exponent of the shunt conductance with light
	alpha      float64 // of Isc [1/K]
	gap        float64 // band gap [eV]
	fade       float64 // how much of Isc is lost for each factor e of less light
}

// The second diode's ideality (recombination in the junction, Sah, Noyce, Shockley 1957).
const recombination = 2.0

// drawCell draws the physics of a cell of the given current.
func (d dice) drawCell(isc float64) cellKind {
	c := cellKind{
		isc: isc, voc: d.between(0.585, 0.655), ideality: 1,
		alpha: d.between(0.0003, 0.0008), gap: d.between(1.11, 1.14),
		shuntLight: pick(d, 0, 0, 0.5, 1), // 1 is De Soto's law, 0 a plain resistor
		fade:       d.between(-0.011, 0.012),
	}
	perCell := c.voc / isc
	// The share of Isc that the shunt takes at Voc: more than tenfold between modules (NREL
	// mPERT).
	c.gsh = d.log(0.0005, 0.04) / perCell
	second := 0.0
	if d.chance(0.5) {
		second = d.between(0, 0.7) // share of the current at Voc that recombines
		c.rs = perCell * d.between(0.015, 0.11)
	} else {
		c.ideality = d.between(1, 1.6)
		c.rs = perCell * d.between(0.01, 0.17) * (1.7 - c.ideality)
	}
	vt := boltzmannEV * (stcC + zeroC)
	lost := isc - c.gsh*c.voc
	c.i01 = lost * (1 - second) / expm1(c.voc/(c.ideality*vt))
	c.i02 = lost * second / expm1(c.voc/(recombination*vt))
	return c
}

// A lit cell is a cell at some light and temperature: what the netlist needs.
type litCell struct{ il, i01, a1, i02, a2, rs, gsh float64 }

// at moves the cell to the light [W/m2] and temperature [°C].
//
// Source: S. M. Sze, Physics of Semiconductor Devices: saturation current as
// (T³·exp(−Eg/kT)) to the power of 1 over the ideality; IL in proportion to the light.
func (c *cellKind) at(light, tempC float64) litCell {
	t, ref := tempC+zeroC, stcC+zeroC
	hot := func(n float64) float64 {
		return math.Pow(t/ref, 3/n) * math.Exp(c.gap/(n*boltzmannEV)*(1/ref-1/t))
	}
	share := light / stcLight
	faded := share
	if share > 0 {
		faded *= 1 + c.fade*max(math.Log(share), math.Log(0.01))
	}
	const shuntFloor = 0.02 // of full light; below it the shunt stays (judgement)
	return litCell{
		il:  c.isc * (1 + c.gsh*c.rs) * faded * (1 + c.alpha*(tempC-stcC)),
		i01: c.i01 * hot(c.ideality), a1: c.ideality * boltzmannEV * t,
		i02: c.i02 * hot(recombination), a2: recombination * boltzmannEV * t,
		rs: c.rs, gsh: c.gsh * math.Pow(clamp(share, shuntFloor, 1.2), c.shuntLight),
	}
}

// current of the cell with the junction at v [V]; it gives the terminal voltage too.
func (l *litCell) current(v float64) (amps, volts float64) {
	amps = l.il - l.i01*expm1(v/l.a1) - l.gsh*v
	if l.i02 > 0 {
		amps -= l.i02 * expm1(v/l.a2)
	}
	return amps, v - amps*l.rs
}

// points finds Isc, Voc and the best point of the cell by walking along its junction's
// voltage.
func (l *litCell) points() (isc, voc, vmp, imp float64) {
	const steps = 20000
	const top = 0.9 // [V]
	best, last := 0.0, math.Inf(1)
	for k := range steps {
		i, v := l.current(top * float64(k) / steps)
		if v <= 0 {
			isc = i
		}
		if p := v * i; p > best {
			best, vmp, imp = p, v, i
		}
		if i < 0 && last >= 0 {
			voc = v
			return isc, voc, vmp, imp
		}
		last = i
	}
	return isc, voc, vmp, imp
}

// labelOf is the nameplate that a maker prints on modules of this cell: the figures of a
// typical one, rounded, with coefficients that are those of the data sheet and not quite
// those of the cell.
func (d dice) labelOf(c *cellKind, cells, bypass int) label {
	stc := c.at(stcLight, stcC)
	warm := c.at(stcLight, stcC+20)
	isc, voc, vmp, imp := stc.points()
	_, vocWarm, _, _ := warm.points()
	n := float64(cells)
	decimals := 2
	l := label{
		Voc: round(n*voc, 1), Isc: round(isc, decimals), Vmp: round(n*vmp, 1), Imp: round(imp, decimals),
		Cells: cells, Bypass: bypass, NOCT: math.Round(d.between(43, 49)),
		IscPctPer: round(100*c.alpha+d.between(-0.015, 0.015), 3),
		VocPctPer: round(100*(vocWarm/voc-1)/20+d.between(-0.02, 0.02), 2),
	}
	l.Pmp = math.Round(l.Vmp * l.Imp)
	if l.Pmp < 30 {
		l.Pmp = round(l.Vmp*l.Imp, 1)
	}
	return l
}
