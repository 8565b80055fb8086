package scenarios

import (
	"fmt"
	"math/rand/v2"
	"slices"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Chances of how the switches of a generated scenario stand (choices of this project).
const (
	inverterOnShare = 0.7
	chargerOnShare  = 0.2
)

// drawParts draws how the switches of the inverter and the charger stand: an inverter is on
// where a load on it is.
func (s *Scenario) drawParts(r *rand.Rand) {
	if s.Site.Inverter != nil {
		s.inverter = r.Float64() < inverterOnShare || s.fedByInverter() != ""
	}
	if s.Site.Charger != nil {
		s.charger = r.Float64() < chargerOnShare
	}
}

// evening is what is on after dark by the site's file; all loads where it tells of none [W].
func evening(at *site.Site) (watts float64) {
	for _, l := range at.Loads {
		if l.Used == site.Evening {
			watts += l.PowerW
		}
	}
	if watts == 0 {
		return at.AllListedW()
	}
	return watts
}

// fedByInverter is a load that is on and takes its power from the inverter, "" if none.
func (s *Scenario) fedByInverter() string {
	for _, l := range s.Site.LoadsFrom(site.FromInverter) {
		if slices.Contains(s.setup.LoadsOn, l.Label) {
			return l.Label
		}
	}
	return ""
}

// parts reads how the switches stand.
func (p parser) parts(t *tomlfile.Table) {
	w := words()
	p.inverter = p.Site.Inverter != nil
	if t.Has("inverter_on") {
		p.inverter = t.Bool("inverter_on")
	}
	if t.Has("charger_on") {
		p.charger = t.Bool("charger_on")
	}
	switch {
	case p.inverter && p.Site.Inverter == nil:
		t.Report("inverter_on", w.Problem.File.TrueAt, p.Site.Name, w.Impossible.Inverter)
	case p.Site.Inverter != nil && !p.inverter && p.fedByInverter() != "":
		t.Report("inverter_on", w.Problem.File.InverterOff, p.fedByInverter())
	}
	if t.Has("locked") {
		p.locked = t.Bool("locked")
	}
	if p.locked && (p.Site.Kit == nil || !p.Site.Kit.Locks) {
		t.Report("locked", w.Problem.File.TrueAt, p.Site.Name, w.Impossible.Locked)
	}
	if p.charger && p.Site.Charger == nil {
		t.Report("charger_on", w.Problem.File.TrueAt, p.Site.Name, w.Impossible.Charger)
	}
}

// signsOf reads what is seen of damage, what people complain of and what changed.
func (p parser) signsOf(t *tomlfile.Table) {
	p.signs = map[reading.Key][]string{}
	for _, k := range []reading.Key{reading.Seen, reading.Complaint, reading.Changed} {
		if spec, _ := reading.SpecOf(k); t.Has(spec.Name) {
			p.signs[k] = t.Words(spec.Name, spec.Choices...)
		}
	}
}

// toldFrom is how common a sign must be with what is wrong for a written scenario that says
// nothing of it to show it; a generated one draws each (choices of this project).
const toldFrom = 0.4

// ofAcid are the signs that only a battery with loose acid can have.
var ofAcid = []string{"acid-low", "plates-bare", "water-added"}

// addSigns fills in the signs that the scenario does not give, by how common each is with
// what is wrong: drawn by r, or the common ones where r is nil.
func (s *Scenario) addSigns(r *rand.Rand) {
	given := s.signs
	s.setup.Signs = map[reading.Key][]string{}
	o := s.first()
	states := s.states(&o)
	for _, k := range []reading.Key{reading.Seen, reading.Complaint, reading.Changed} {
		if list, ok := given[k]; ok {
			s.setup.Signs[k] = slices.DeleteFunc(slices.Clone(list), func(id string) bool { return id == reading.None })
			continue
		}
		for _, sign := range condition.Signs(k) {
			if s.Site.Battery.Chemistry != site.Flooded && slices.Contains(ofAcid, sign.ID) {
				continue
			}
			p := sign.Chance(s.Truth(), states)
			if r == nil && p >= toldFrom || r != nil && r.Float64() < p {
				s.setup.Signs[k] = append(s.setup.Signs[k], sign.ID)
			}
		}
	}
}

// states are how the plant stands as people notice it.
func (s *Scenario) states(o *plant.Out) (list []condition.PlantState) {
	if s.Site.Controller.LoadOutput && !o.LoadsLive {
		list = append(list, condition.NoSupply)
	}
	if s.charge < runDownBelow {
		list = append(list, condition.RunDown)
	}
	if o.BusV > s.Site.Controller.AbsorbV+overchargedBy*s.Site.NominalV/12 {
		list = append(list, condition.Overcharged)
	}
	return list
}

// As in the diagnosis (judgement).
const (
	runDownBelow  = 1. / 3
	overchargedBy = 0.4 // above the set-point at 12 V [V]
)

// partTolerances draws the tolerances of an inverter, a charger and an earth electrode.
func partTolerances(r *rand.Rand, s *site.Site, u *plant.Unknowns) {
	u.Inverter = 0.96 + 0.08*r.Float64()
	u.Charger = 0.9 + 0.12*r.Float64()
	u.ChargerSet = 0.05 * (2*r.Float64() - 1)
	u.EarthOhm = 20 + 80*r.Float64()
	if u.Earthed = s.Earthing; s.Earthing == site.PoleUnknown {
		u.Earthed = []site.Pole{site.PoleNone, site.PoleMinus}[r.IntN(2)]
	}
}

// impossiblePart says why a site cannot have a condition of a part that it has not.
func impossiblePart(id condition.ID, s *site.Site) (string, bool) {
	w := words().Impossible
	if s.Kit != nil {
		return w.Kit, true
	}
	switch id {
	case condition.CutOffFails:
		return w.LoadOutputOpen, true
	case condition.BlockWeak:
		return w.OneBlock, true
	case condition.BatteryStringOpen:
		return w.OneString, true
	case condition.ElectrolyteLow:
		return fmt.Sprintf(w.NoAcid, s.Battery.Chemistry), true
	case condition.InverterOff, condition.InverterStarved:
		return w.Inverter, true
	case condition.EarthFault:
		return w.Earthing, true
	}
	return "", false
}
