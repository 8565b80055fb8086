package visiting

import (
	"fmt"

	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// What the parts of a site should keep to.
const (
	// mostDrop is what an inverter's cable may lose at full power, as a share of the nominal
	// voltage: 3 % (common practice; the figure of IEC 62548 for DC cables, from memory).
	mostDrop = 0.03
	// manyStrings is from how many battery strings in parallel on the current is hardly
	// shared: at most three (common practice; makers of batteries say two to four).
	manyStrings = 4
	// lostFrom is the share of an array's power from which a loss is said (judgement).
	lostFrom = 0.25
	// setApart is how far the set-points of two chargers of one battery may lie apart, at
	// 12 V [V] (judgement: makers give ± 0.2 V for a kind of battery).
	setApart = 0.3
	// Most charging current per capacity [1/h] (common practice: a quarter of the capacity
	// for lead-acid, half of it for lfp).
	mostLead, mostLFP = 0.25, 0.5
)

// partRemarks are remarks on an inverter, battery strings, a mains charger, and on modules
// whose voltage a controller that only switches cannot use.
func partRemarks(s *site.Site) []string {
	all := inverterRemarks(s)
	r := remarks()
	if n := s.Battery.Parallel(); n > 1 {
		all = append(all, fmt.Sprintf(r.Strings, n))
		if n >= manyStrings {
			all = append(all, fmt.Sprintf(r.ManyStrings, n, manyStrings-1))
		}
	}
	all = append(all, chargerRemarks(s)...)
	if lost := lostToSwitching(s); lost > lostFrom {
		all = append(all, fmt.Sprintf(r.TooManyCells, s.Array.Module.Cells*s.Array.Series, s.NominalV, 100*lost))
	}
	return all
}

func inverterRemarks(s *site.Site) (all []string) {
	i, r := s.Inverter, remarks()
	if i == nil {
		return nil
	}
	full := i.DrawnW(i.RatedW)
	amps, most := full/s.NominalV, full/i.CutV // on a nominal and on the lowest supply
	carries := outlook.Ampacity(i.CableMM2)
	if drop := amps * plant.CableOhm(i.CableM, i.CableMM2, 20); drop > mostDrop*s.NominalV {
		all = append(all, fmt.Sprintf(r.InverterDrop, i.CableM, i.CableMM2, amps, drop, mostDrop*s.NominalV))
	}
	if most > carries {
		all = append(all, fmt.Sprintf(r.InverterCable, i.CableMM2, carries, most))
	}
	switch f := i.FuseA; {
	case f == 0:
		all = append(all, r.InverterNoFuse)
	case f > carries:
		all = append(all, fmt.Sprintf(r.InverterFuseLarge, f, i.CableMM2, carries))
	case f < closeEnough*most:
		all = append(all, fmt.Sprintf(r.InverterFuseSmall, f, most))
	}
	if i.From == site.FromOutput {
		if beside := s.ListedFromW(site.FromOutput) / s.NominalV; amps+beside > s.Controller.RatedA {
			all = append(all, fmt.Sprintf(r.InverterAtOutput, s.Controller.RatedA, amps+beside))
		}
	}
	if w := s.ListedFromW(site.FromInverter); w > i.RatedW {
		all = append(all, fmt.Sprintf(r.InverterSmall, i.RatedW, w))
	}
	return all
}

func chargerRemarks(s *site.Site) (all []string) {
	c, r := s.Charger, remarks()
	if c == nil {
		return nil
	}
	name := r.Charger
	if s.SecondArray() {
		name = r.Second
	}
	apart := setApart * s.NominalV / 12
	highest := max(s.Controller.AbsorbV, s.Battery.EqualiseV)
	switch {
	case c.AbsorbV > highest+apart:
		all = append(all, fmt.Sprintf(r.ChargerHigh, name, c.AbsorbV, s.Controller.AbsorbV))
	case c.AbsorbV < s.Controller.AbsorbV-apart:
		all = append(all, fmt.Sprintf(r.ChargerLow, name, c.AbsorbV, s.Controller.AbsorbV))
	}
	if c.FloatV > s.Controller.FloatV+apart {
		all = append(all, fmt.Sprintf(r.ChargerFloat, name, c.FloatV, s.Controller.FloatV))
	}
	rate := mostLead
	if !s.Battery.Chemistry.LeadAcid() {
		rate = mostLFP
	}
	if most := rate * s.Battery.CapacityAh; c.RatedA > most {
		all = append(all, fmt.Sprintf(r.ChargerAmps, name, c.RatedA, s.Battery.CapacityAh, most))
	}
	return all
}

// hotC is a module's temperature in sun in a warm country [°C] (common practice).
const hotC = 50

// lostToSwitching is the share of the array's power that a series or shunt controller
// loses, which holds the array at the battery's voltage: half-way to the set-point, and the
// switch's few tenths of a volt, with the best point of a warm module.
func lostToSwitching(s *site.Site) float64 {
	if s.Controller.Kind == site.MPPT {
		return 0
	}
	const drop = 0.3 // [V] (common practice)
	m := s.Array.Module
	best := float64(s.Array.Series) * m.VmpV * (1 + m.VocPctPerC*m.VocV/m.VmpV/100*(hotC-site.NameplateC))
	at := (s.NominalV*12.6/12+s.Controller.AbsorbV)/2 + drop
	if at >= best {
		return 0
	}
	// Between the best point and a short circuit the current rises about in a line.
	amps := m.ImpA + (m.IscA-m.ImpA)*(1-at/best)
	return 1 - at*amps/(best*m.ImpA)
}
