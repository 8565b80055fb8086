package outlook

import (
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A Check compares what is installed with a rule, whose words and source stand in the
// file of words under its ID.
type Check struct {
	ID    string  `json:"id"`
	Value float64 `json:"value"`           // in the unit of the rule
	Least float64 `json:"least,omitempty"` // 0: there is none
	Most  float64 `json:"most,omitempty"`  // likewise
	Good  bool    `json:"good"`
	Known bool    `json:"known"` // that the rule can be judged by what the site file says
}

// Limits of the rules; the sources stand beside their words.
const (
	ratioLeast      = 1.1 // IEEE 1562-2021, 9.1 (secondary source); 1.3 where lives hang on it
	autonomyLeast   = 3   // days (common practice)
	chargeLeast     = 1. / 40
	chargeMostLead  = 1. / 5
	chargeMostLFP   = 1. / 2
	iscMargin       = 1.25
	arrayDropMost   = 0.03
	loadDropMost    = 0.05
	batteryDropMost = 0.02
	depthLead       = 0.5
	depthLFP        = 0.8
)

// ArrayToLoad is the ratio of what the array gives to what the loads take, both in a day
// [Ah]: peak sun hours times the current at the best point in full light, over the load.
//
// Source: definition of IEEE 1013 (an extract).
func ArrayToLoad(sunHours, impA, loadAh float64) float64 { return sunHours * impA / loadAh }

// coldFactors are what a lead-acid battery must be larger by when it is cold, by its
// temperature [°C].
//
// Source: a row that stands in many handbooks of sizing (an extract).
var coldFactors = [...]struct{ c, x float64 }{{-6.7, 1.59}, {-1.1, 1.40}, {4.4, 1.30}, {10, 1.19}, {15.6, 1.11}, {21.1, 1.04}, {26.7, 1}}

// ColdFactor is how much larger a lead-acid battery must be at a temperature [°C].
func ColdFactor(c float64) float64 {
	t := &coldFactors
	if c <= t[0].c {
		return t[0].x
	}
	for k := 1; k < len(t); k++ {
		if c <= t[k].c {
			return t[k-1].x + (t[k].x-t[k-1].x)*(c-t[k-1].c)/(t[k].c-t[k-1].c)
		}
	}
	return 1
}

// CapacityFor is the battery that carries a need for so many days without sun, down to a
// depth of discharge [Ah at volts].
//
// Source: the simplified method of IEEE 1013 (an extract).
func CapacityFor(whPerDay, days, depth, coldFactor, volts float64) float64 {
	return whPerDay * days / depth * coldFactor / volts
}

// ampacities are what two loaded copper conductors with plastic insulation in a conduit on
// a wall carry at 30 °C [A], by cross-section [mm²].
//
// Source: IEC 60364-5-52, method B2 (from memory).
var ampacities = [...]struct{ mm2, a float64 }{{1, 13}, {1.5, 16.5}, {2.5, 23}, {4, 30}, {6, 38}, {10, 52}, {16, 69}, {25, 90}, {35, 111}, {50, 133}, {70, 168}, {95, 201}}

// Ampacity is the current that a wire carries [A]: that of the next size below where it is
// none of the table.
func Ampacity(mm2 float64) float64 {
	a := ampacities[0].a * mm2 / ampacities[0].mm2 // thinner ones by their section (judgement)
	for _, x := range ampacities {
		if mm2 >= x.mm2 {
			a = x.a
		}
	}
	return a
}

// chargeA is the most that the array charges with [A].
func chargeA(s *site.Site) float64 {
	if s.Controller.Kind == site.MPPT {
		return s.Array.PowerW() / s.NominalV
	}
	return float64(s.Array.Strings) * s.Array.Module.ImpA
}

func (l *looker) checks(y *Year) []Check {
	s := l.site
	var list []Check
	add := func(id string, value, least, most float64) {
		good := (least == 0 || value >= least) && (most == 0 || value <= most)
		list = append(list, Check{ID: id, Value: value, Least: least, Most: most, Good: good, Known: least != 0 || most != 0})
	}
	ah := y.NeedWh/s.NominalV + s.Controller.OwnUseMA/1000*24
	chem := s.Battery.Chemistry
	if y.NeedWh > 0 {
		add("array-to-load", ArrayToLoad(y.Months[y.Worst-1].SunH.P50, chargeA(s), ah), ratioLeast, 0)
		depth, cold := depthLead, ColdFactor(warmth(s.Place.LatitudeDeg, y.Worst))
		if !chem.LeadAcid() {
			depth, cold = depthLFP, 1
		}
		add("autonomy", l.capacity()/CapacityFor(ah*s.NominalV, 1, depth, cold, s.NominalV), autonomyLeast, 0)
	}
	rate := chargeA(s) / s.Battery.CapacityAh
	most := chargeMostLead
	if !chem.LeadAcid() {
		most = chargeMostLFP
	}
	add("charge-rate", rate, chargeLeast, most)
	if s.Controller.Kind == site.MPPT {
		add("controller-output", s.Array.PowerW()/s.NominalV, 0, s.Controller.RatedA)
	} else {
		add("controller-current", iscMargin*s.Array.ShortCircuitA(), 0, s.Controller.RatedA)
	}
	add("cold-voltage", s.OpenCircuitColdV(), 0, s.Controller.InputV)

	drop := func(m, mm2, amps, volts float64) float64 { return amps * plant.CableOhm(m, mm2, 40) / volts }
	arrayA := float64(s.Array.Strings) * s.Array.Module.ImpA
	add("array-cable", drop(s.Array.CableM, s.Array.CableMM2, arrayA, float64(s.Array.Series)*s.Array.Module.VmpV), 0, arrayDropMost)
	if loadA := s.ListedFromW(s.MainSource()) / s.NominalV; loadA > 0 {
		add("load-cable", drop(s.LoadWiring.CableM, s.LoadWiring.CableMM2, loadA, s.NominalV), 0, loadDropMost)
	}
	loadA := s.AllListedW() / s.NominalV
	add("battery-cable", drop(s.Battery.CableM, s.Battery.CableMM2, max(loadA, chargeA(s)), s.NominalV), 0, batteryDropMost)
	for _, f := range []struct {
		id        string
		fuse, mm2 float64
	}{
		{"array-fuse", s.Array.FuseA, s.Array.CableMM2}, {"battery-fuse", s.Battery.FuseA, s.Battery.CableMM2}, {"load-fuse", s.LoadWiring.FuseA, s.LoadWiring.CableMM2},
	} {
		if f.fuse > 0 {
			add(f.id, f.fuse, 0, Ampacity(f.mm2))
		}
	}
	if s.Battery.FuseA == 0 {
		list = append(list, Check{ID: "battery-no-fuse", Value: 0, Known: true})
	}
	return list
}

// capacity is the middle of what the battery holds today [Ah].
func (l *looker) capacity() float64 {
	xs := make([]float64, len(l.draws))
	for k := range xs {
		xs[k] = l.plant.CapacityAh(&l.draws[k].Unknowns)
	}
	return bandOf(xs).P50
}

// tooSmall says in which way the system is too small though nothing is broken: "array" if
// it gives less than the loads need in the month of the visit, "battery" if it does not
// carry the nights all the same, "" for neither.
func (o *Outlook) tooSmall() string {
	if o.Fault != "sound" || o.Sure < likelySound {
		return ""
	}
	m := &o.Year.Months[o.At.Month()-1]
	switch {
	case m.Short >= sureShort:
		return "array"
	case m.Cut >= sureShort:
		return "battery"
	}
	return ""
}

const (
	likelySound = 0.5
	sureShort   = 0.8
)

// Missed is how much of what the loads need they do not get in the worst month, and the
// probability of a cut within a week of it.
func (y *Year) Missed() (part, cut float64) {
	m := &y.Months[y.Worst-1]
	return m.Missing, m.Cut
}
