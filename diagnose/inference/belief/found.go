package belief

import (
	"slices"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What is known of a switch.
type known uint8

const (
	notKnown known = iota
	isOff
	isOn
)

// or is how a switch stands: as it is known to, else by chance.
func (k known) or(chance bool) bool { return k == isOn || k == notKnown && chance }

// poleShares are the cumulative shares of none, minus and plus as the pole that is joined to
// earth, where nobody knows (judgement).
var poleShares = []float64{0.45, 0.85, 1}

// readSite works out what the site file and the readings say of what is switched on.
func (m *model) readSite() {
	s, set := m.site, m.set
	if set.LoadsOn != nil {
		m.listed = make([]float64, len(s.Loads))
		m.noneOn = len(set.LoadsOn) == 0
		for i, l := range s.Loads {
			if slices.Contains(set.LoadsOn, l.Label) {
				m.listed[i] = l.PowerW
				if s.SourceOf(l) == site.FromInverter {
					m.running = isOn
				}
			}
		}
	}
	m.earthed = s.Earthing != "" || set.Has(reading.PlusEarthV) || set.Has(reading.MinusEarthV)
	m.charged = isOff
	if s.Charger != nil {
		switch set.Words[reading.ChargerOn] {
		case "true":
			m.charged = isOn
		case "":
			m.charged = notKnown
		}
	}
	m.locked, m.runW = set.Words[reading.Locked] == "true", s.AllListedW()
	if w, ok := set.Numbers[reading.RunW]; ok {
		m.runW = w
	}
	m.stages = []float64{1 - floatShare, 1}
	if s.Battery.EqualiseV > 0 {
		often := equaliseOften
		if d := s.Battery.EqualiseDays; d > 0 {
			often = max(0.02, 1/float64(d))
		}
		m.stages = []float64{1 - floatShare - often, 1 - often, 1}
	}
}

// found gives what else the visit finds on.
func (m *model) found(z *[dims]float64, u *plant.Unknowns) {
	s := m.site
	if s.Kit != nil {
		u.Locked, u.RunW = m.locked, m.runW
	}
	if s.Inverter != nil {
		u.InverterOn = m.running.or(z[dInverterOn] < inverterOften)
		u.InverterLatched = z[dInverterLatch] > 1-latchShare
		u.InverterLeftOn = z[dLeftOn] < leftOften
		u.Inverter = fastmath.Exp(inverterSpread * z[dInverter])
	}
	if s.Charger != nil {
		least, most := chargerLeast, 1.03
		if s.SecondArray() {
			least, most = secondLeast, secondMost
		}
		u.ChargerOn = m.charged.or(z[dChargerOn] < m.chargerOften())
		u.ChargerFloats = z[dChargerStage] > 1-floatShare
		u.Charger = uniform(least, most, z[dCharger])
		u.ChargerSet = chargerSpread * z[dChargerSet]
	}
	if !m.earthed {
		return
	}
	u.EarthOhm = earthMedian * fastmath.Exp(earthSpread*z[dEarth])
	if u.Earthed = s.Earthing; s.Earthing == site.PoleUnknown || s.Earthing == "" {
		switch {
		case z[dPole] < poleShares[0]:
			u.Earthed = site.PoleNone
		case z[dPole] < poleShares[1]:
			u.Earthed = site.PoleMinus
		default:
			u.Earthed = site.PolePlus
		}
	}
}

// draw gives what the loads draw, once it is known what is wrong.
func (m *model) draw(z *[dims]float64, u *plant.Unknowns) {
	var all float64
	if m.listed == nil { // nobody knows which are on
		all = phi(z[dLoad])
	} else {
		all = fastmath.Exp(m.parts.load * z[dLoad])
	}
	loads := m.site.Loads
	u.SetLoads(m.site, func(i int) float64 {
		w := loads[i].PowerW
		if m.listed != nil {
			w = m.listed[i]
		}
		switch loads[i].Kind {
		case site.Cycling:
			if z[dCycle] > cycleShare {
				w *= restingDraw
			}
		case site.Unsteady:
			w *= uniform(drawLeast, 1, z[dDraw])
		}
		return w * all
	})
}

// bearsOn lists, of the choices about what is switched on, those that some reading bears on.
func (m *model) bearsOn(has func(...plant.Index) bool) []int {
	s := m.site
	var bear []int
	draws := has(plant.LoadA, plant.LoadEndV, plant.InverterA, plant.InverterV, plant.BatteryA, plant.BatteryV, plant.PostV)
	if draws && slices.ContainsFunc(s.Loads, func(l site.Load) bool { return l.Kind == site.Cycling }) {
		bear = append(bear, dCycle)
	}
	if s.Inverter != nil && m.running == notKnown && draws {
		bear = append(bear, dInverterOn)
	}
	if s.Inverter != nil && draws {
		bear = append(bear, dInverterLatch)
	}
	if s.Inverter != nil && has(plant.StandbyA) {
		bear = append(bear, dLeftOn)
	}
	if s.Charger != nil && m.charged == notKnown && (draws || has(plant.ChargerA)) {
		bear = append(bear, dChargerOn)
	}
	if s.Charger != nil && m.charged != isOff && (draws || has(plant.ChargerA)) {
		bear = append(bear, dChargerStage)
	}
	if (s.Earthing == site.PoleUnknown || s.Earthing == "") && has(plant.PlusEarthV, plant.MinusEarthV) {
		bear = append(bear, dPole)
	}
	return bear
}

// chargerOften is how often a charger of which nothing is said is on.
func (m *model) chargerOften() float64 {
	if m.site.SecondArray() {
		return secondOften
	}
	return chargerOften
}
