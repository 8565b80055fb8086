package main

import (
	"math"
	"slices"
	"strings"
)

// maxA is the most that an array gives at the battery [A].
const maxA = 60

// drawSite draws what is installed, with the cell that its label describes.
func (d dice) drawSite(parts bool) (*siteFile, cellKind) {
	s := &siteFile{
		Name:     pick(d, firstNames...) + " " + pick(d, lastNames...) + " " + pick(d, houses...),
		NominalV: pick(d, 12, 12, 12, 12, 24, 24, 48), parts: parts, shortTest: d.chance(0.8),
	}
	lat, lon := round(d.between(-38, 48), 1), round(d.between(-75, 175), 1)
	s.Place = place{lat, lon, math.Round(lon / 15), math.Round(d.between(5, 35)), 0}
	if lat > 0 {
		s.Place.Bearing = 180
	}
	s.Place.Bearing = math.Mod(s.Place.Bearing+math.Round(d.between(-25, 25))+360, 360)
	s.Control.Kind = pick(d, seriesKind, seriesKind, seriesKind, shuntKind, mpptKind, mpptKind)
	cell := d.siteArray(s)
	s.Battery = d.siteBattery(s)
	s.Control = d.siteController(s)
	d.siteLoads(s)
	if parts {
		d.siteParts(s)
	}
	return s, cell
}

// siteArray draws modules of 36, 60 or 72 cells that suit the controller.
func (d dice) siteArray(s *siteFile) cellKind {
	n := int(s.twelves())
	cells, series := 36, n
	switch {
	case s.Control.Kind == mpptKind:
		cells = pick(d, 36, 60, 72)
		least := int(math.Ceil(float64(36*n) * 1.25 / float64(cells)))
		series = least + d.IntN(2)
	case n >= 2 && d.chance(0.5):
		cells, series = 72, n/2
	}
	cell := d.drawCell(round(pick(d, 0.65, 1.3, 2.9, 3.6, 5, 8.9)*d.between(0.9, 1.1), 2))
	bypass := pick(d, 1, 2, 2, 2)
	if cells != 36 {
		bypass = pick(d, 3, 3, 2)
	}
	l := d.labelOf(&cell, cells, bypass)
	strings := pick(d, 1, 1, 1, 2, 2, 3, 4)
	for strings > 1 && l.Pmp*float64(series*strings) > maxA*12*s.twelves() {
		strings--
	}
	a := array{Series: series, Strings: strings, Module: l, CableM: math.Round(d.between(3, 18)), Installed: d.month()}
	amps := l.Imp * float64(strings)
	a.CableMM2 = d.thickness(a.CableM, amps, float64(series)*l.Vmp)
	if d.chance(0.6) {
		a.FuseA = math.Ceil(1.5 * l.Isc * float64(strings))
	}
	s.Array = a
	return cell
}

// thickness is the least cross-section that keeps the drop in usual limits, 1 to 4 %
// (common practice: 3 % from array to controller).
func (d dice) thickness(m, amps, volts float64) float64 {
	limit := d.between(0.01, 0.04) * volts
	sizes := []float64{1.5, 2.5, 4, 6, 10, 16, 25, 35}
	for _, mm2 := range sizes {
		if loop(m, mm2, 20)*amps < limit {
			return mm2
		}
	}
	return sizes[len(sizes)-1]
}

func (d dice) month() string {
	return pick(d, "2018-", "2019-", "2021-", "2022-", "2023-", "2024-", "2025-") + pick(d, "02", "05", "08", "11")
}

func (s *siteFile) arrayW() float64 {
	return s.Array.Module.Pmp * float64(s.Array.Series*s.Array.Strings)
}

func (d dice) siteBattery(s *siteFile) battery {
	n := int(s.twelves())
	b := battery{
		Chemistry:  pick(d, flooded, flooded, flooded, agm, agm, gel, lfp, lfp),
		CapacityAh: max(7, min(500, math.Round(s.arrayW()/float64(s.NominalV)*d.between(5, 20)))),
		Blocks:     n, CellsEach: 6, Installed: d.month(),
		CableM: round(d.between(0.4, 2.5), 1),
	}
	switch {
	case b.Chemistry == lfp:
		b.CellsEach = 4
		if d.chance(0.4) {
			b.Blocks, b.CellsEach = 1, 4*n
		}
	case b.Chemistry == flooded && b.CapacityAh > 150 && d.chance(0.5) && n < 4:
		b.Blocks, b.CellsEach = 6*n, 1
	case d.chance(0.15) && b.CapacityAh > 100:
		b.Blocks, b.CellsEach = 2*n, 3
	}
	most := max(s.Array.Module.Imp*float64(s.Array.Strings), s.arrayW()/float64(s.NominalV))
	b.CableMM2 = max(2.5, d.thickness(b.CableM, most, float64(s.NominalV)*0.5))
	if d.chance(0.8) {
		b.FuseA = math.Ceil(most*1.6/5) * 5
	}
	return b
}

func (d dice) siteController(s *siteFile) controller {
	cells := float64(s.cells())
	amps := s.Array.Module.Isc * float64(s.Array.Strings)
	if s.Control.Kind == mpptKind {
		amps = s.arrayW() / float64(s.NominalV)
	}
	c := controller{
		Kind: s.Control.Kind, RatedA: math.Ceil(1.2*amps/5) * 5,
		OwnUseMA: math.Round(d.log(3, 35)), Output: d.chance(0.75),
	}
	perCell := func(lo, hi float64) float64 { return round(cells*d.between(lo, hi), 1) }
	if s.leadAcid() {
		c.AbsorbV, c.FloatV, c.CutV, c.RestoreV = perCell(2.35, 2.42), perCell(2.23, 2.3), perCell(1.85, 1.93), perCell(2.05, 2.12)
		c.CompMV = pick(d, 0.0, -3, -4, -5)
	} else {
		c.AbsorbV, c.FloatV, c.CutV, c.RestoreV = perCell(3.48, 3.6), perCell(3.35, 3.42), perCell(2.85, 3.05), perCell(3.2, 3.28)
	}
	if d.chance(0.3) {
		c.FloatV = c.AbsorbV
	}
	c.Lamps = d.lamps(pick(d, lampTables...), s.twelves())
	if !c.Output {
		c.Lamps = slices.DeleteFunc(c.Lamps, func(l lamp) bool {
			return slices.ContainsFunc(l.Looks, func(k look) bool { return slices.Contains(k.Means, "loads-cut") })
		})
	}
	return c
}

// lamps copies a table for a system of n times 12 V.
func (d dice) lamps(table lampTable, n float64) []lamp {
	up := round(d.between(-0.2, 0.2), 1)
	var out []lamp
	for _, l := range table {
		l.Looks = slices.Clone(l.Looks)
		for k := range l.Looks {
			if v := &l.Looks[k]; v.Volts > 0 {
				v.Volts = round(n*(v.Volts+up), 1)
				if v.VoltsTo > 0 {
					v.VoltsTo = round(n*(v.VoltsTo+up), 1)
				}
			}
		}
		out = append(out, l)
	}
	return out
}

func (d dice) siteLoads(s *siteFile) {
	watts := s.arrayW()
	names := slices.Clone(loadNames)
	d.Shuffle(len(names), func(i, j int) { names[i], names[j] = names[j], names[i] })
	count := 2 + d.IntN(3)
	for k := range count {
		s.Loads = append(s.Loads, load{
			Label: names[k], PowerW: max(2, math.Round(watts*d.log(0.025, 0.2))),
			Hours: float64(1 + d.IntN(9)), Priority: k + 1,
		})
	}
	var all float64
	for _, l := range s.Loads {
		all += l.PowerW
	}
	s.Wiring.CableM = math.Round(d.between(2, 18))
	s.Wiring.CableMM2 = d.thickness(s.Wiring.CableM, all/float64(s.NominalV), float64(s.NominalV))
	if d.chance(0.7) {
		s.Wiring.FuseA = max(3, math.Ceil(1.5*all/float64(s.NominalV)))
	}
}

// siteParts adds at least one of the parts that real sites have besides.
func (d dice) siteParts(s *siteFile) {
	n := s.twelves()
	for s.Inverter == nil && s.Charger == nil && s.Battery.Strings < 2 {
		if d.chance(0.55) {
			d.siteInverter(s)
		}
		if d.chance(0.4) {
			s.Battery.Strings = pick(d, 2, 2, 3)
		}
		if d.chance(0.35) {
			c := charger{RatedA: max(2, math.Round(s.Battery.CapacityAh*d.between(0.05, 0.2))), AbsorbV: s.Control.AbsorbV, FloatV: s.Control.FloatV}
			s.Charger = &c
		}
	}
	if d.chance(0.6) {
		s.Earthing = &earthing{pick(d, "none", "none", "minus", "minus", "plus", "unknown")}
	}
	if s.Battery.Chemistry == flooded && d.chance(0.5) {
		s.Battery.EqualiseV, s.Battery.EqualiseDays = round(float64(s.cells())*d.between(2.5, 2.6), 1), pick(d, 14, 28, 30)
	}
	for k := range s.Loads {
		l := &s.Loads[k]
		from := []string{fromBattery}
		if s.Control.Output {
			from = append(from, fromOutput, fromOutput, "")
		} else {
			from = append(from, "")
		}
		if s.Inverter != nil {
			from = append(from, fromInverter, fromInverter)
		}
		l.From = pick(d, from...)
		l.Kind = pick(d, "", "", "steady", "cycling", "unsteady")
		if strings.Contains(l.Label, "lamp") {
			l.Kind = ""
		}
	}
	if s.Inverter != nil {
		d.sizeInverter(s, n)
	}
}

func (d dice) siteInverter(s *siteFile) {
	i := &inverter{From: fromBattery, Efficiency: round(d.between(0.82, 0.93), 2)}
	if s.Control.Output && d.chance(0.2) {
		i.From = fromOutput
	}
	s.Inverter = i
}

// sizeInverter fits an inverter to the loads on it.
func (d dice) sizeInverter(s *siteFile, n float64) {
	i := s.Inverter
	watts := 20.0
	for _, l := range s.Loads {
		if l.From == fromInverter {
			watts += l.PowerW
		}
	}
	i.RatedW = math.Ceil(watts*d.between(1.2, 4)/50) * 50
	i.IdleW = round(max(1, i.RatedW*d.log(0.006, 0.03)), 1)
	i.CutV, i.RestoreV = round(n*d.between(10.3, 10.9), 1), round(n*d.between(12, 12.6), 1)
	if !s.leadAcid() {
		i.CutV, i.RestoreV = round(n*d.between(10.6, 11.6), 1), round(n*d.between(12.4, 12.9), 1)
	}
	amps := i.RatedW / float64(s.NominalV)
	i.FuseA = math.Ceil(amps*1.5/5) * 5
	i.CableM = round(d.between(0.5, 2.5), 1)
	i.CableMM2 = max(4, d.thickness(i.CableM, amps, float64(s.NominalV)*0.5))
	i.Lamps = d.lamps(pick(d, inverterLamps...), n)
	s.Battery.CableMM2 = max(s.Battery.CableMM2, i.CableMM2)
}
