package plant_test

import (
	"fmt"
	"math"

	"ampwalk/diagnose/physics/site"
)

// Rest voltage of a 12 V battery against charge, at even steps.
//
// Sources: the BCI table for flooded batteries; a second handbook table, its
// loaded figure at empty replaced by the slope above it; the chart of a 12.8 V
// lfp battery with its knees at 0, 20, 50 and 60 % (judgement); four of a cell between
// charge and discharge at C/32, its ends judged (soorajsunil/Piecewise-Battery-OCV, MIT).
var (
	restBCI      = []float64{11.89, 12.06, 12.24, 12.45, 12.65}
	restHandbook = []float64{11.04, 11.31, 11.58, 11.75, 11.90, 12.06, 12.20, 12.32, 12.42, 12.50, 12.70}
	restLFP      = []float64{10.8, 12.0, 12.8, 13.0, 13.14, 13.2, 13.25, 13.3, 13.34, 13.4, 13.6}
	restLFPCell  = []float64{11.2, 12.81, 12.97, 13.11, 13.18, 13.194, 13.21, 13.26, 13.35, 13.372, 13.44}
)

func interpolate(table []float64, x float64) float64 {
	x *= float64(len(table) - 1)
	k := min(int(x), len(table)-2)
	return table[k] + (table[k+1]-table[k])*(x-float64(k))
}

// cellV is the rest voltage of one cell; sealed lead-acid cells stand 25 mV
// above flooded ones.
func (tr *trial) cellV() float64 {
	u := &tr.u
	soc := min(max(u.SoC, 0), 1)
	if tr.site.Battery.Chemistry == site.LFP {
		return ((1-u.RestMix)*interpolate(restLFP, soc)+u.RestMix*interpolate(restLFPCell, soc))/4 + u.RestShift
	}
	v := ((1-u.RestMix)*interpolate(restBCI, soc)+u.RestMix*interpolate(restHandbook, soc))/6 + u.RestShift
	if tr.site.Battery.Chemistry != site.Flooded {
		v += 0.025
	}
	return v
}

// cellCount is the cells that give voltage.
func (tr *trial) cellCount() float64 {
	return float64(tr.site.Battery.Cells() - tr.u.Fault.ShortedCells)
}

func (tr *trial) restV() float64 { return tr.cellCount() * tr.cellV() }

func times(x float64) float64 {
	if x == 0 {
		return 1
	}
	return x
}

// cellModel is the documented parameters of one battery cell: ohmic resistance,
// the overvoltages eta·asinh(i/i0) of charge and discharge (after Copetti,
// Lorenzo, Chenlo 1993), and the gassing current gas·exp(11·(v − 2.23 V)) (after
// Schiffer, Sauer et al. 2007).
type cellModel struct {
	ohm, etaC, i0C, etaD, i0D, gas float64
}

func (tr *trial) cellModel() cellModel {
	u, b := &tr.u, tr.site.Battery
	ah, soc := b.CapacityAh, min(max(u.SoC, 0), 1)
	wear := times(u.Fault.OhmX)
	cold := func(perC float64) float64 { return math.Exp(-perC * (u.BatteryC - 25)) }
	if b.Chemistry != site.LFP {
		return cellModel{
			ohm:  0.10 / ah * u.Ohm * wear * cold(0.007),
			etaC: 0.060 * u.Charge,
			i0C:  0.012 * ah / wear * max(1-soc, 2e-4) / 0.5 / cold(0.025),
			etaD: 0.0285 * u.Discharge,
			i0D:  0.008 * ah / wear * math.Pow(max(soc, 0.02)/0.5, 0.7) / cold(0.007),
			gas:  0.0002 * ah * u.Gas * math.Exp(0.06*(u.BatteryC-20)),
		}
	}
	m := cellModel{
		ohm:  0.12 / ah * u.Ohm * wear * cold(0.025),
		etaC: 0.012 * u.Charge,
		i0C:  0.010 * ah / wear / cold(0.025),
		etaD: 0.012 * u.Discharge,
		i0D:  0.010 * ah / wear / cold(0.025) * min(1, max(soc, 0.02)/0.1),
	}
	if soc > 0.97 { // full: the voltage climbs at little current
		full := (soc - 0.97) / 0.03
		m.etaC *= 1 + 5*full
		m.i0C *= 1 - full*(1-0.06)
	}
	return m
}

// battery wires the cells behind node q: ohmic resistance, then at "bi" the
// main reaction, one branch for charge and one for discharge, and beside it the
// gassing of lead-acid cells.
func (c *netlist) battery(tr *trial, q string) {
	n, m := tr.cellCount(), tr.cellModel()
	c.resistor(q, "bi", n*m.ohm)
	c.voltage("emf", "0", n*tr.cellV())
	const maxC = 10 // current per capacity that no battery here reaches [1/h]
	most := maxC * tr.site.Battery.CapacityAh
	c.overvoltage("bi", "emf", m.i0C, n*m.etaC, most)
	c.overvoltage("emf", "bi", m.i0D, n*m.etaD, most)
	if m.gas > 0 {
		// At rest the main reaction feeds the gassing, so only what is above
		// counts, and none at all in discharge.
		zero := m.gas * math.Exp(-gasPerV*gasV)
		rest := zero * math.Exp(gasPerV*tr.cellV())
		c.exponential("gas", "bi", "0", zero, n/gasPerV)
		c.behave("0", "bi", fmt.Sprintf("%s*(V(bi,emf) > 0 ? 1 : exp((V(bi,emf) > 0 ? 0 : V(bi,emf))/%s))", number(rest), number(n/gasPerV)))
	}
}

// overvoltage is a branch that conducts i0·sinh(v/a) one way and nothing the
// other; far above the most current it goes on straight, so that no trial step
// of the simulator overflows.
func (c *netlist) overvoltage(from, to string, i0, a, most float64) {
	v, top := fmt.Sprintf("V(%s,%s)", from, to), math.Asinh(most/i0)
	x := fmt.Sprintf("(%s > 0 ? (%s < %s ? %s/%s : %s) : 0)", v, v, number(top*a), v, number(a), number(top))
	c.behave(from, to, fmt.Sprintf("%s*sinh(%s) + (%s > %s ? (%s-%s)*%s : 0)",
		number(i0), x, v, number(top*a), v, number(top*a), number(i0/a*math.Cosh(top))))
}

// The gassing current's slope [1/V] and the voltage it is given at.
const (
	gasPerV = 11.0
	gasV    = 2.23
)
