package belief

import (
	"math"
	"sync/atomic"
	"time"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// The unknowns as coordinates z, each standard normal a priori; the maps below
// turn them into quantities. Coordinates from dStage on are choices, even over
// 0 to 1, of which only the share counts.
const (
	dLight = iota
	dLightIsolated
	dCell
	dCellIsolated
	dAir
	dBatteryC
	dCharge
	dLoad
	dStep
	dSoiling
	dCurrent
	dVoltage
	dShunt
	dShuntShare
	dIdeality
	dTrack
	dArrayJoint
	dBatteryJoint
	dLoadJoint
	dCable
	dDrop
	dEfficiency
	dStart
	dSetPoint
	dOwnUse
	dLoadShape
	dRestMix
	dRestShift
	dGravity
	dOhm
	dChargeOver
	dDischargeOver
	dGas
	dOneMinute
	dSurface
	dTaken      // of that by a load step
	dDraw       // of loads that draw now more, now less
	dInverter   // what it takes beside what it gives
	dCharger    // its current
	dChargerSet // and set-points
	dEarth      // the electrode
	dMisfitV    // of the model, volts
	dMisfitA    // and amperes
	dSeverity   // first condition, main severity
	dSeverity2  // and its second
	dOther      // second condition
	dOther2
	dVoltGain // errors of the instruments, see instruments.go
	dVoltOffset
	dClampGain
	dClampOffset
	dClampZero
	dLightGain
	dLightOffset
	dThermometer
	dHydrometer
	dStage // choices
	dLatch
	dOption
	dOtherOption
	dCycle // whether loads that cycle run
	dInverterOn
	dInverterLatch
	dLeftOn // the inverter, at the test with everything off
	dChargerOn
	dChargerStage
	dPole
	dUnzeroed // of an instrument
	dims
)

const (
	firstError  = dVoltGain
	firstChoice = dStage
	choices     = dUnzeroed - firstChoice
)

// phi is the standard normal distribution function.
func phi(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

// uniform maps z to an even spread over lo to hi.
func uniform(lo, hi, z float64) float64 { return lo + (hi-lo)*phi(z) }

// Priors of the parts. Those without a source are judgement, set once and not
// to cases: they say what an ordinary sound part may be.
const (
	airMean, airSpread = 25, 8 // [°C], the tropics and the year
	cellSpread         = 4     // of the nominal-cell-temperature rule [K]
	batteryBelowAir    = 2     // [K]
	batterySpread      = 4
	lightDrift         = 0.06 // of the light between as-found and isolated tests
	stepKnown          = 0.1  // of a load step's current, where it was read
	stepUnknown        = 0.5  // and where it was not
	currentMean        = 0.985
	currentSpread      = 0.02 // module power tolerance ±3 % (typical; from memory)
	voltageSpread      = 0.008
	soilingMost        = 0.07 // limits of a sound plant, formats of conditions
	jointMost          = 0.02
	// From a good switch to a silicon blocking diode at its rated current, with its leads
	// [V] (data sheets; from memory).
	dropLeast, dropMost = 0.01, 1.0
	// An mppt controller stands within some 5 % of the best voltage, which costs 1 to 3 % of
	// the power (EN 50530 asks for static efficiencies of that kind; from memory).
	trackSpread = 0.5
	// And starts at about a two-hundredth of the array's power (judgement).
	startShare, startSpread = 0.005, 1.0
	clockWrong              = 0.12 // a watch or a time zone set wrong, a horizon of hills
	// Model error (judgement): one plant in three is beside the model, one in fifteen by 2.5
	// times what is usually left out, one in 160 by 7.
	misfitFrom, misfitSteep = 0.5, 1.0

	latchShare     = 0.3 // of the time within the hysteresis the output is off, before the charge is known, see lnLatch
	latchEmpty     = 0.8 // and of an empty battery
	latchFull      = 0.1
	latchLeadAcid  = 0.35 // charge at which a lead-acid battery's share has mostly fallen
	latchLFP       = 0.3
	unzeroedShare  = 0.06
	unzeroedA      = 0.35 // spread of a clamp's zero that was not set [A]
	floatShare     = 0.4
	loadSpread     = 0.1 // a lamp's draw against its label
	setPointSpread = 0.06
	setPointMost   = 0.15
	chargeMedian   = 0.75 // of Copetti's overvoltages, see plant
	overSpread     = 0.4
	// While it gives current a battery lies between Copetti's curves, 1, of stationary ones
	// with liquid acid, and a measured AGM, below 0.2 (see TestMeasuredDischarge). Thin plates
	// and little acid between them are what makes the difference; gel lies between (judgement).
	dischargeFlooded, dischargeGel, dischargeAGM = 0.5, 0.4, 0.22
	dischargeLFP, dischargeSpread                = 0.7, 0.7
	packMedian, packSpread                       = 1.4, 0.25 // of a lithium pack's resistance, beside that of its cells (judgement)
	// Ideality by the slope of Voc with the logarithm of light: of eight measured modules
	// 1.13 to 1.32 (NREL mPERT, see TestMeasuredModules); a single diode laid through a
	// nameplate and its coefficients ends near 1.
	idealityMean, idealitySpread = 1.18, 0.11
	// What the shunt takes of Isc at Voc: by their power in weak light 0.5 to 3 %.
	shuntShareMedian, shuntShareSpread = 0.008, 0.9
	cableSpread                        = 0.06
	ownUseSpread                       = 0.25
	capacityMedian                     = 0.95
	ohmMedian                          = 1.18 // a battery in use: up to 1.8 times new counts as wear; one maker's ohmic level is up to 1.7 times another's (data sheets; from memory)
	ohmSpread                          = 0.32
	gasSpread                          = 0.7
	restMixSpread                      = 0.4 // from one published table to the other, ±1.25 deviations
	restMixLFP                         = 0.8
	surfaceMedian                      = 0.4 // of the overvoltage left when the rest begins
	surfaceSpread                      = 0.6
	decayMinutes                       = 45 // of that surface charge
	// Of the discharge overvoltage a minute shows 0.2 to 1, mostly under 0.5: a 17 Ah VRLA
	// shows nearly all of it (references), heavy plates less (judgement).
	oneMinuteBend  = 1.7
	decaySpread    = 0.6   // of its logarithm; a full 17 Ah VRLA keeps 0.07 V a cell for two hours (references)
	restShiftLead  = 0.006 // [V per cell]
	restShiftLFP   = 0.021 // hysteresis 5 to 25 mV per cell (read), and as much between makes (judgement)
	cycleShare     = 0.4   // of the time a load that cycles runs (a compressor; common practice)
	restingDraw    = 0.02  // of its power that it draws between (electronics)
	drawLeast      = 0.1   // of the power on their labels that unsteady loads draw
	inverterOften  = 0.5   // an inverter that feeds nothing now is switched on
	leftOften      = 0.5   // and left on at the test with everything off
	inverterSpread = 0.08  // of its sheet
	chargerOften   = 0.15  // a charger of which nothing is said is on
	secondOften    = 0.9   // a second array of which nothing is said charges by day
	secondLeast    = 0.5   // of its current in full sun: another slope, dirt, what its controller loses
	secondMost     = 1.1
	chargerLeast   = 0.6  // of its rated current, long after its first minutes
	chargerSpread  = 0.08 // of its set-points at 12 V [V]
	earthMedian    = 40   // of an electrode [ohm] (1 to some hundred; common practice)
	earthSpread    = 1.3
	equaliseOften  = 0.05 // of the days, where the file does not say
	// Of the rule V = SG + 0.845 against the BCI table, and of acid in layers: after a charge
	// without gassing it is thinner above the plates (common practice).
	gravitySpread = 0.012
)

// model is a site with the readings so far, ready to be weighed.
type model struct {
	site    *site.Site
	plant   *plant.Plant
	set     *reading.Set
	hyps    []hypothesis
	obs     []observation
	groups  []meterGroup
	words   []word
	light   [lightKnots]float64 // quantiles of the light in the array's plane, see lightPrior
	arrayW  float64             // by the nameplates [W]
	listed  []float64           // power of each listed load that is on [W]; nil if that is not known
	noneOn  bool                // it is known that no load is on
	earthed bool                // which pole is joined to earth matters
	stages  []float64           // cumulative shares of the controller's stages
	running known               // what is known of the inverter's switch
	charged known               // and of the charger's
	locked  bool                // a closed kit that was not paid
	runW    float64             // of the loads whose run time people tell, or would [W]
	open    []int               // choices about what is switched on that readings bear on
	stepA   float64             // centre of the load step's current [A]
	stepS   float64             // and its spread, relative
	bend    float64             // of the charge toward full, see chargeBend
	parts   spreads             // of the coordinates
	surface float64             // spread of the logarithm of what the rest leaves
	clear   float64             // clear-sky light now, NaN if the time is not known [W/m2]
	scale12 float64
	solved  atomic.Int64          // plants so far
	nearest [len(nearing)]float64 // least cost after each stage of nearing, see search

	seed     uint64  // of the sampling
	fineness float64 // of the sampling, 1 where evidence is weighed; less is about the modes alone
}

// A hypothesis is what is wrong: no, one or two conditions.
type hypothesis struct {
	ids     []condition.ID // empty: sound
	options [][]float64    // cumulative shares of each condition's options
	lnPrior float64
}

func (h *hypothesis) has(id condition.ID) bool {
	if len(h.ids) == 0 {
		return id == condition.Sound
	}
	for _, x := range h.ids {
		if x == id {
			return true
		}
	}
	return false
}

// choiceParts are those of each choice coordinate within which it makes no difference.
func (m *model) choiceParts(h *hypothesis) [choices][]span {
	parts := [choices][]span{
		dStage - firstChoice:         spans(m.stages),
		dLatch - firstChoice:         spans([]float64{1 - latchShare, 1}),
		dOption - firstChoice:        {whole},
		dOtherOption - firstChoice:   {whole},
		dCycle - firstChoice:         spans([]float64{cycleShare, 1}),
		dInverterOn - firstChoice:    spans([]float64{inverterOften, 1}),
		dInverterLatch - firstChoice: spans([]float64{1 - latchShare, 1}),
		dLeftOn - firstChoice:        spans([]float64{leftOften, 1}),
		dChargerOn - firstChoice:     spans([]float64{m.chargerOften(), 1}),
		dChargerStage - firstChoice:  spans([]float64{1 - floatShare, 1}),
		dPole - firstChoice:          spans(poleShares),
	}
	for k := range h.ids {
		parts[dOption-firstChoice+k] = spans(h.options[k])
	}
	return parts
}

// option picks the option of the k-th condition for the choice coordinate u.
func (h *hypothesis) option(k int, u float64) int {
	cum := h.options[k]
	for i, c := range cum {
		if u < c {
			return i
		}
	}
	return len(cum) - 1
}

// hypotheses lists sound and every applicable single condition; pairs join them
// once the readings have said which. The rates are those of the site at that time, and of
// such a visit.
func hypotheses(s *site.Site, at time.Time, visit string) []hypothesis {
	var hs []hypothesis
	for _, c := range condition.At(s, at, visit) {
		h := hypothesis{lnPrior: fastmath.Log(c.Prior)}
		if c.ID != condition.Sound {
			h.ids = []condition.ID{c.ID}
			h.options = [][]float64{cumulative(condition.Options(c.ID, s))}
		}
		hs = append(hs, h)
	}
	return hs
}

func cumulative(shares []float64) []float64 {
	var sum float64
	c := make([]float64, len(shares))
	for i, x := range shares {
		sum += x
		c[i] = sum
	}
	return c
}

// misfit is what a plant adds to the spread of readings, in units of what the model leaves
// out of an ordinary one: most plants nothing, one in three more, and a few much more.
func misfit(z float64) float64 {
	if z < misfitFrom {
		return 0
	}
	scale := fastmath.Exp(misfitSteep * (z - misfitFrom))
	return math.Sqrt(scale*scale - 1)
}

// The state of charge is an even spread bent toward full. By dawn, when the loads
// have drawn their share, one visit in ten finds more than 0.95; at the end of the
// day's light a third of them; about noon, or where the time is not known, a fifth.
// From dawn to dusk the mean rises by a sixth of the capacity, as where a sixth
// goes through the battery each day (a common design; judgement). What is lacking
// to full, on which a charged battery's behaviour hangs, stays a smooth function.
const (
	bendAtDawn  = 1.3
	bendInADay  = 1.4
	bendUnknown = bendAtDawn + bendInADay/2
)

// chargeBend is the exponent by which charge is bent toward full at a time of
// day: it rises with the light that a tropical day has had by then and falls
// evenly through the night.
func chargeBend(s *site.Site, set *reading.Set) float64 {
	if set.TakenAt.IsZero() {
		return bendUnknown
	}
	at := set.TakenAt.UTC()
	sunrise := 6.0
	hour := float64(at.Hour()) + float64(at.Minute())/60 + s.Place.LongitudeDeg/15 - sunrise
	hour = math.Mod(hour+48, 24)
	had := (1 - math.Cos(math.Pi*hour/12)) / 2
	if hour > 12 {
		had = 1 - (hour-12)/12
	}
	return bendAtDawn + bendInADay*had
}

// lnLatch is the logarithm of how often the load output is still off after a cut, or is
// not, at such a charge, over how often that is at any charge. An output that is off has
// been at its cut-off since it was last at its reconnect voltage. So the battery has been
// empty, and has had little since: charging lifts its voltage over the reconnect voltage
// soon (judgement). A worn battery is cut at more charge, so the share falls slowly.
func (m *model) lnLatch(z *[dims]float64) float64 {
	if !m.site.Controller.LoadOutput {
		return 0
	}
	falls := latchLFP
	if m.site.Battery.Chemistry.LeadAcid() {
		falls = latchLeadAcid
	}
	share := latchFull + (latchEmpty-latchFull)*fastmath.Exp(-square(m.chargeAt(z[dCharge])/falls))
	if latched(z) {
		return fastmath.Log(share / latchShare)
	}
	return fastmath.Log((1 - share) / (1 - latchShare))
}

// latchSlope is how lnLatch grows with the coordinate of charge.
func (m *model) latchSlope(z *[dims]float64) float64 {
	const h = 1e-3
	above, below := *z, *z
	above[dCharge] += h
	below[dCharge] -= h
	return (m.lnLatch(&above) - m.lnLatch(&below)) / (2 * h)
}

// latched is whether the load output is off within its hysteresis.
func latched(z *[dims]float64) bool { return z[dLatch] > 1-latchShare }

func (m *model) chargeAt(z float64) float64 {
	return 1 - fastmath.Exp(m.bend*fastmath.Log(0.5*math.Erfc(z/math.Sqrt2)))
}

// unknowns turns coordinates into what the plant needs under h.
func (m *model) unknowns(z *[dims]float64, h *hypothesis, u *plant.Unknowns) {
	m.base(z, u)
	m.disturb(z, h, u)
}

// base gives the unknowns of a sound plant.
func (m *model) base(z *[dims]float64, u *plant.Unknowns) {
	g := m.lightAt(z[dLight])
	air := airMean + airSpread*z[dAir]
	nominal := (m.site.Array.Module.NOCTC - 20) / 800 // rise per light (IEC 61215; from memory)
	g2 := g * fastmath.Exp(lightDrift*z[dLightIsolated])
	*u = plant.Unknowns{
		Irradiance:         g,
		IrradianceIsolated: g2,
		CellC:              air + nominal*g + m.parts.cell*z[dCell],
		CellCIsolated:      air + nominal*g2 + m.parts.cell*(z[dCell]+0.4*z[dCellIsolated]),
		AirC:               air,
		BatteryC:           air - batteryBelowAir + batterySpread*z[dBatteryC],
		SoC:                m.chargeAt(z[dCharge]),
		StepA:              m.stepA * fastmath.Exp(m.stepS*z[dStep]),
		FloatStage:         z[dStage] > m.stages[0] && z[dStage] <= m.stages[1],
		Equalising:         z[dStage] > m.stages[1],
		LatchedOff:         latched(z),
		Soiling:            uniform(0, soilingMost, z[dSoiling]),
		Current:            currentMean + m.parts.current*z[dCurrent],
		Voltage:            1 + m.parts.voltage*z[dVoltage],
		Shunt:              phi(z[dShunt]),
		Ideality:           idealityMean + idealitySpread*z[dIdeality],
		ShuntShare:         shuntShareMedian * fastmath.Exp(shuntShareSpread*z[dShuntShare]),
		ArrayJoint:         uniform(0, jointMost, z[dArrayJoint]),
		BatteryJoint:       uniform(0, jointMost, z[dBatteryJoint]),
		LoadJoint:          uniform(0, jointMost, z[dLoadJoint]),
		Cable:              fastmath.Exp(m.parts.cable * z[dCable]),
		DropV:              uniform(dropLeast, dropMost, z[dDrop]),
		DropOhm:            0.01,
		Efficiency:         uniform(0.92, 0.985, z[dEfficiency]),
		Track:              trackSpread * z[dTrack],
		StartW:             startShare * m.arrayW * fastmath.Exp(startSpread*z[dStart]),
		SetPoint:           min(max(m.parts.setPoint*z[dSetPoint], -m.parts.setPointMost), m.parts.setPointMost),
		OwnUse:             fastmath.Exp(m.parts.ownUse * z[dOwnUse]),
		LoadShape:          phi(z[dLoadShape]),
		RestMix:            0.5 + restMixSpread*z[dRestMix],
		Gravity:            gravitySpread * z[dGravity],
		Ohm:                ohmMedian * fastmath.Exp(m.parts.ohm*z[dOhm]),
		Charge:             chargeMedian * fastmath.Exp(overSpread*z[dChargeOver]),
		Discharge:          fastmath.Exp(dischargeSpread * z[dDischargeOver]),
		Gas:                fastmath.Exp(gasSpread * z[dGas]),
		Capacity:           capacityMedian * fastmath.Exp(-m.parts.capacity*z[dOhm]),
		OneMinute:          0.2 + 0.8*fastmath.Exp(oneMinuteBend*fastmath.Log(phi(z[dOneMinute]))),
		Misfit:             plant.Misfit{Volts: misfit(z[dMisfitV]), Amps: misfit(z[dMisfitA])},
		Surface:            surfaceMedian * fastmath.Exp(m.surface*z[dSurface]),
		Taken:              phi(z[dTaken]), // a 17 Ah VRLA loses all of it (TestMeasuredLoadStep), heavy plates less (judgement)
		Decay:              decayMinutes,
	}
	u.Discharge *= dischargeOf(m.site.Battery.Chemistry)
	if m.site.Battery.Chemistry.LeadAcid() {
		u.RestShift = restShiftLead * z[dRestShift]
	} else {
		u.RestShift = restShiftLFP * z[dRestShift]
		u.RestMix = restMixLFP + restMixSpread*z[dRestMix] // nearer to the measured cell
		// The switches, links and leads of a pack are in its resistance too.
		u.Ohm *= packMedian * fastmath.Exp(packSpread*z[dOhm])
	}
	m.found(z, u)
}

// dischargeOf is the median of the overvoltage while a battery gives current, beside
// Copetti's or that of LFP.
func dischargeOf(c site.Chemistry) float64 {
	switch c {
	case site.Flooded:
		return dischargeFlooded
	case site.Gel:
		return dischargeGel
	case site.AGM:
		return dischargeAGM
	}
	return dischargeLFP
}

// disturb adds what h does to a sound plant.
func (m *model) disturb(z *[dims]float64, h *hypothesis, u *plant.Unknowns) {
	for k, id := range h.ids {
		a, b, o := z[dSeverity], z[dSeverity2], z[dOption]
		if k == 1 {
			a, b, o = z[dOther], z[dOther2], z[dOtherOption]
		}
		condition.Disturb(id, m.site, u, phi(a), phi(b), h.option(k, o))
	}
	m.draw(z, u)
}
