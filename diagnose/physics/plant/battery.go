package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/site"
)

// Rest voltage per cell against charge [V], at 0, 0.1 … 1.
//
// leadHigh is the BCI table for flooded batteries at 26.7 °C (12.65, 12.45,
// 12.24, 12.06, 11.89 V at 100, 75, 50, 25, 0 %; read), leadLow the second
// handbook table (12.7, 12.5, 12.42, 12.32, 12.20, 12.06, 11.9, 11.75, 11.58,
// 11.31 V from 100 to 10 %; read), its 10.5 V at empty replaced by the same
// slope, since that is a loaded figure. Published tables differ this much; the
// truth of a battery is taken to lie between or near them. lfpChart is the one
// chart at hand (13.6 V at 99 % … 12.0 V at 10 %; read, low authority), lfpCell one cell
// between charge and discharge at C/32 (12.81, 12.97, 13.11, 13.18, 13.21, 13.26, 13.35,
// 13.39 V for four at 10, 20, 30, 40, 60, 70, 80, 98 %; github
// soorajsunil/Piecewise-Battery-OCV, MIT).
var (
	leadHigh = [11]float64{1.9817, 1.9930, 2.0043, 2.0160, 2.0280, 2.0400, 2.0540, 2.0680, 2.0817, 2.0950, 2.1083}
	leadLow  = [11]float64{1.8400, 1.8850, 1.9300, 1.9583, 1.9833, 2.0100, 2.0333, 2.0533, 2.0700, 2.0833, 2.1167}
	lfpCell  = [11]float64{2.8000, 3.2025, 3.2425, 3.2775, 3.2950, 3.2985, 3.3025, 3.3150, 3.3375, 3.3430, 3.3600}
	lfpChart = [11]float64{2.7000, 3.0000, 3.2000, 3.2500, 3.2850, 3.3000, 3.3125, 3.3250, 3.3350, 3.3500, 3.4000}
)

func table(t *[11]float64, x float64) float64 {
	x = min(max(x, 0), 1) * 10
	k := min(int(x), 9)
	return t[k] + (t[k+1]-t[k])*(x-float64(k))
}

// sealedShift is how far an AGM or gel cell rests above a flooded one of the
// same charge [V]: stronger acid (12.8 to 13.0 V against 12.65 V full; common
// practice).
const sealedShift = 0.025

// RestVoltage is the open-circuit voltage of one rested cell [V] at a state of
// charge of 0 to 1. The place between the published tables is given by mix: 0
// the upper, 1 the lower; shift is added [V].
func RestVoltage(c site.Chemistry, soc, mix, shift float64) float64 {
	upper, lower := &leadHigh, &leadLow
	switch c {
	case site.LFP:
		upper, lower = &lfpChart, &lfpCell
	case site.AGM, site.Gel:
		shift += sealedShift
	}
	high, low := table(upper, soc), table(lower, soc)
	return high + mix*(low-high) + shift
}

// SpecificGravity is the acid's density against water at 25 °C of a rested
// lead-acid cell at voltage v: the rule V = SG + 0.845 (from memory).
func SpecificGravity(v float64) float64 { return v - 0.845 }

// GravityPerC is how much lower a hydrometer reads per degree of warmer acid:
// 0.004 per 5.5 °C from 26.7 °C (read in an army technical manual).
const GravityPerC = 0.004 / 5.5

// freezing are freezing points of acid [°C] by its density at 26.7 °C (read in
// two army lessons; other tables differ by some degrees).
var freezing = [...]struct{ gravity, c float64 }{
	{1.000, 0}, {1.100, -7.2}, {1.150, -15}, {1.200, -26.7}, {1.250, -52.2}, {1.280, -67.8},
}

// FreezingC is the temperature at which acid of that density freezes [°C].
func FreezingC(gravity float64) float64 {
	k := 1
	for k < len(freezing)-1 && gravity > freezing[k].gravity {
		k++
	}
	lo, hi := freezing[k-1], freezing[k]
	x := min(max((gravity-lo.gravity)/(hi.gravity-lo.gravity), 0), 1)
	return lo.c + x*(hi.c-lo.c)
}

// BatteryShortA is about the current that a new, full battery drives into a
// dead short across its posts [A]: the voltage of a full cell over its ohmic
// resistance, whatever the number of cells in series. A lithium pack's
// protection may cut it sooner; that is not to be relied on.
func BatteryShortA(chem site.Chemistry, ah float64) float64 {
	ohm := leadOhm
	if !chem.LeadAcid() {
		ohm = lfpOhm
	}
	return RestVoltage(chem, 1, 0, 0) / (ohm / ah)
}

// VentilationM3PerH is the air that a room of charging cells needs against
// hydrogen [m³/h], boost charging or floating: 0.05·n·I·C/1000 with a gassing
// current I of 20 or 5 mA/Ah, of sealed cells 8 or 1. Two openings of 28 cm²
// each for 1 m³/h let it through.
//
// Source: EN 50272-2 and IEC 62485-2 (read in two descriptions).
func VentilationM3PerH(chem site.Chemistry, cells int, ah float64, boost bool) float64 {
	var mA float64
	switch {
	case !chem.LeadAcid():
	case chem == site.Flooded && boost:
		mA = 20
	case chem == site.Flooded:
		mA = 5
	case boost:
		mA = 8
	default:
		mA = 1
	}
	return 0.05 * float64(cells) * mA * ah / 1000
}

// OpeningCM2PerM3H is the size of each opening for a natural flow [cm²·h/m³].
const OpeningCM2PerM3H = 28

// Peukert is how long a battery of ah, rated over hours, gives i [h]:
// hours·(ah/(i·hours))^k. The shorter form ah/i^k that is often printed holds
// only where ah is the capacity at 1 A.
func Peukert(ah, hours, k, i float64) float64 {
	return hours * math.Pow(ah/(i*hours), k)
}

// rateHours is the discharge time that a site's capacity is stated for [h].
const rateHours = 20

// Overvoltage of a cell against the current per capacity x [1/h]:
// η = eta·asinh(x/x0), the Butler–Volmer form, its constants laid through the
// curves of J. B. Copetti, E. Lorenzo, F. Chenlo, "A general battery model for
// PV system simulation", Progress in Photovoltaics 1 (1993) 283–292, at half
// charge and C/1000 to C/10 (from memory), within 15 %. The exchange current
// falls with the material left to convert: charge with 1−SoC, discharge with
// SoC. LFP figures are judgement: a tenth of a volt at C/2.
const (
	leadDischargeEta = 0.0285 // [V]
	leadDischargeX0  = 0.008  // at half charge [1/h]
	leadChargeEta    = 0.060
	leadChargeX0     = 0.012
	lfpEta           = 0.012
	lfpX0            = 0.010
	leadOhm          = 0.10 // ohmic resistance of a new cell times its capacity [ohm·Ah]
	lfpOhm           = 0.12 // 8 mohm for a 12.8 V, 60 Ah pack (typical; from memory)
)

// Gassing current of a lead-acid cell per capacity,
// x = gas0·exp(gasU·(v−2.23)+gasT·(T−20)).
//
// Source: the side reaction of J. Schiffer, D. U. Sauer et al., "Model
// prediction for ranking lead-acid batteries", J. Power Sources 168 (2007)
// 66–78: 20 mA per 100 Ah, 11 /V, 0.06 /K (from memory).
const (
	gas0 = 0.0002
	gasV = 2.23
	gasU = 11.0
	gasT = 0.06
)

// lfpSteep is the slope of an LFP cell's voltage once it is full, against the
// current per capacity still forced in [V·h] (judgement: 0.4 V at C/25).
const lfpFullX0 = 0.0006

// cell is one battery cell of the moment with everything worked out.
type cell struct {
	lead       bool
	emf        float64 // rest voltage [V]
	ohm        float64 // ohmic resistance [ohm]
	etaC, i0C  float64 // charge overvoltage [V], exchange current [A]
	etaD, i0D  float64
	gasI, gasK float64 // gassing current at gasV [A], slope [1/V]
	gasRest    float64 // gassing at rest: the main reaction feeds it
}

// discharge is the overvoltage while a current i flows out [V].
func (c *cell) discharge(i float64) float64 { return c.etaD * math.Asinh(i/c.i0D) }

// main is the overvoltage of a main-reaction current m [V], the cell's whole current, gassing
// included, and the slopes of both.
func (c *cell) main(m float64) (eta, deta, i, di float64) {
	i, di = m, 1
	// asinh(m/i0) as a logarithm, whose root is that of the slope.
	if m >= 0 {
		root := math.Sqrt(m*m + c.i0C*c.i0C)
		eta = c.etaC * fastmath.Log((m+root)/c.i0C)
		deta = c.etaC / root
		if c.gasI > 0 {
			g := c.gasI * fastmath.Exp(min(c.gasK*(c.emf+eta-gasV), 60))
			i += g - c.gasRest
			di += g * c.gasK * deta
		}
		return eta, deta, i, di
	}
	root := math.Sqrt(m*m + c.i0D*c.i0D)
	return -c.etaD * fastmath.Log((root-m)/c.i0D), c.etaD / root, i, di
}

func asinhFactor(t, perC float64) float64 { return fastmath.Exp(-perC * (t - refC)) }

// newCell works out one cell for the unknowns, at a charge, with so many times a new
// cell's resistance; nominal capacity in Ah.
func newCell(chem site.Chemistry, ah float64, u *Unknowns, soc, wear float64) cell {
	lead := chem.LeadAcid()
	soc = min(max(soc, 0), 1)
	c := cell{
		lead: lead,
		emf:  RestVoltage(chem, soc, u.RestMix, u.RestShift),
	}
	// Copetti's temperature terms, 0.7 % and 2.5 % per kelvin, written as
	// exponentials so that they stay positive.
	warmD, warmC := asinhFactor(u.BatteryC, 0.007), asinhFactor(u.BatteryC, 0.025)
	if lead {
		c.ohm = leadOhm / ah * u.Ohm * wear * warmD
		c.etaD = leadDischargeEta * u.Discharge
		c.i0D = leadDischargeX0 * ah / wear * fastmath.Exp(0.7*fastmath.Log(max(soc, 0.02)/0.5)) / warmD
		c.etaC = leadChargeEta * u.Charge
		c.i0C = leadChargeX0 * ah / wear * (max(1-soc, 2e-4) / 0.5) / warmC
		c.gasI = gas0 * ah * u.Gas * fastmath.Exp(gasT*(u.BatteryC-20))
		c.gasK = gasU
		c.gasRest = c.gasI * fastmath.Exp(c.gasK*(c.emf-gasV))
		return c
	}
	c.ohm = lfpOhm / ah * u.Ohm * wear * warmC
	c.etaD = lfpEta * u.Discharge
	c.i0D = lfpX0 * ah / wear / warmC * min(1, max(soc, 0.02)/0.1)
	c.etaC = lfpEta * u.Charge
	c.i0C = lfpX0 * ah / wear / warmC
	if soc > 0.97 { // full: the voltage climbs at a little current
		full := (soc - 0.97) / 0.03
		c.etaC *= 1 + 5*full
		c.i0C *= 1 - full*(1-lfpFullX0/lfpX0)
	}
	return c
}
