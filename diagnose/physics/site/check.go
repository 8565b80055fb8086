package site

import (
	"math"

	"ampwalk/diagnose/base/tomlfile"
)

// Figures of nameplates that agree with each other (crystalline silicon,
// common practice).
var (
	vocPerCell = tomlfile.Range{Min: 0.45, Max: 0.80, Unit: "V"}
	fillFactor = tomlfile.Range{Min: 0.50, Max: 0.90}
)

const (
	powerSpread   = 0.05 // of Pmp against Vmp·Imp, for rounding on the label
	zoneTolerance = 4    // of legal time against sun time [h]
	degreesPerH   = 15
)

// setPoints are the voltages that suit a chemistry, for each cell [V].
//
// Source: common practice, wide enough for equalising of flooded cells and for
// cautious set-points of lfp.
type setPoints struct{ absorb, float, cut, restore tomlfile.Range }

func setPointsOf(c Chemistry) setPoints {
	perCell := func(lo, hi float64) tomlfile.Range { return tomlfile.Range{Min: lo, Max: hi, Unit: "V"} }
	switch c {
	case LFP:
		return setPoints{perCell(3.35, 3.70), perCell(3.20, 3.70), perCell(2.40, 3.25), perCell(2.80, 3.50)}
	case Flooded:
		return setPoints{perCell(2.25, 2.65), perCell(2.15, 2.65), perCell(1.65, 2.10), perCell(1.85, 2.35)}
	default:
		return setPoints{perCell(2.25, 2.50), perCell(2.15, 2.50), perCell(1.65, 2.10), perCell(1.85, 2.35)}
	}
}

// check finds figures that are possible one by one but contradict each other.
func (s *Site) check(t tables) {
	switch v := s.NominalV; {
	case !t.top.Sound("nominal_v"):
	case s.Kit != nil && v != 3 && v != 6 && v != 12:
		t.top.Report("nominal_v", words().KitVoltage, v)
	case s.Kit == nil && (v == 3 || v == 6):
		t.top.ReportMissing("kit", "%s", words().KitNeeded)
	case s.Kit == nil && v != 12 && v != 24 && v != 48:
		t.top.Report("nominal_v", words().SystemVoltage, v)
	}
	s.checkKit(t)
	s.Place.check(t.place)
	s.Array.Module.check(t.module)
	s.checkArray(t)
	s.checkBattery(t)
	s.Controller.check(t.controller)
	s.checkSetPoints(t)
	s.checkSources(t)
	s.checkInverter(t)
	s.checkCharger(t)
	s.checkEqualising(t)
}

// checkSources finds what takes its current from a part that is not there.
func (s *Site) checkSources(t tables) {
	needs := func(t *tomlfile.Table, from Source) {
		switch {
		case !t.Sound("from"):
		case from == FromOutput && !s.Controller.LoadOutput:
			t.Report("from", "%s", words().NoOutput)
		case from == FromInverter && s.Inverter == nil:
			t.Report("from", "%s", words().NoInverter)
		}
	}
	for i, l := range s.Loads {
		needs(t.loads[i], l.From)
	}
	if s.Inverter != nil {
		needs(t.inverter, s.Inverter.From)
	}
}

// checkKit finds parts that a closed kit has not, or that stand beside one.
func (s *Site) checkKit(t tables) {
	if s.Kit == nil {
		return
	}
	if t.controller.Sound("load_output") && !s.Controller.LoadOutput {
		t.controller.Report("load_output", "%s", words().KitOutput)
	}
	for _, table := range []string{"inverter", "charger", "earthing"} {
		if t.top.Has(table) {
			t.top.Report(table, "%s", words().KitBeside)
		}
	}
	if t.battery.Sound("chemistry") && s.Battery.Chemistry == Flooded {
		t.battery.Report("chemistry", "%s", words().KitFlooded)
	}
	if s.Battery.Parallel() > 1 {
		t.battery.Report("strings", "%s", words().KitStrings)
	}
}

func (s *Site) checkInverter(t tables) {
	i := s.Inverter
	if i == nil {
		return
	}
	if t.inverter.Sound("cut_v", "restore_v") && i.RestoreV <= i.CutV {
		t.inverter.Report("restore_v", words().RestoreBelowCut, i.RestoreV, i.CutV)
	}
	if in := (tomlfile.Range{Min: 0.7 * s.NominalV, Max: 1.05 * s.NominalV, Unit: "V"}); t.inverter.Sound("cut_v") && t.top.Sound("nominal_v") && !in.Contains(i.CutV) {
		t.inverter.Report("cut_v", words().InverterCut, i.CutV, s.NominalV, in)
	}
}

func (s *Site) checkCharger(t tables) {
	c := s.Charger
	if c == nil || !t.charger.Sound("absorb_v", "float_v") {
		return
	}
	if c.FloatV > c.AbsorbV {
		t.charger.Report("float_v", words().FloatAboveAbsorb, c.FloatV, c.AbsorbV)
	}
	cells := usualCells(s.NominalV, s.Battery.Chemistry)
	usual := setPointsOf(s.Battery.Chemistry).absorb
	in := tomlfile.Range{Min: cells * usual.Min, Max: cells * usual.Max, Unit: "V"}
	if t.battery.Sound("chemistry") && t.top.Sound("nominal_v") && !in.Contains(c.AbsorbV) {
		t.charger.Report("absorb_v", words().SetPoint, c.AbsorbV, s.NominalV, s.Battery.Chemistry, in)
	}
}

// checkEqualising finds an equalising charge that is none.
func (s *Site) checkEqualising(t tables) {
	b := s.Battery
	switch {
	case b.EqualiseV == 0 && b.EqualiseDays != 0:
		t.battery.ReportMissing("equalise_v", "%s", words().NoEqualise)
	case b.EqualiseV == 0 || !t.battery.Sound("equalise_v", "chemistry"):
	case !b.Chemistry.LeadAcid():
		t.battery.Report("equalise_v", words().EqualiseLFP, b.Chemistry)
	case t.controller.Sound("absorb_v") && b.EqualiseV <= s.Controller.AbsorbV:
		t.battery.Report("equalise_v", words().EqualiseBelow, b.EqualiseV, s.Controller.AbsorbV)
	}
}

func (p Place) check(t *tomlfile.Table) {
	if !t.Sound("longitude_deg", "utc_offset_h") {
		return
	}
	// Around the date line legal and sun time may lie a whole day apart.
	sunTimeH := p.LongitudeDeg / degreesPerH
	if off := math.Abs(math.Remainder(p.UTCOffsetH-sunTimeH, 24)); off > zoneTolerance {
		t.Report("utc_offset_h", words().UtcOffset,
			p.UTCOffsetH, p.LongitudeDeg, sunTimeH, zoneTolerance)
	}
}

func (m Module) check(t *tomlfile.Table) {
	if t.Sound("vmp_v", "voc_v") && m.VmpV >= m.VocV {
		t.Report("vmp_v", words().VmpAboveVoc, m.VmpV, m.VocV, 0.75*m.VocV, 0.87*m.VocV)
	}
	if t.Sound("imp_a", "isc_a") && m.ImpA >= m.IscA {
		t.Report("imp_a", words().ImpAboveIsc, m.ImpA, m.IscA, 0.88*m.IscA, 0.97*m.IscA)
	}
	if product := m.VmpV * m.ImpA; t.Sound("pmp_w", "vmp_v", "imp_a") && math.Abs(m.PmpW-product) > powerSpread*product {
		t.Report("pmp_w", words().Power, m.PmpW, (1-powerSpread)*product, (1+powerSpread)*product)
	}
	if ff := m.PmpW / (m.VocV * m.IscA); t.Sound("pmp_w", "vmp_v", "imp_a", "voc_v", "isc_a") && !fillFactor.Contains(ff) {
		t.Report("pmp_w", words().FillFactor, ff, fillFactor)
	}
	if t.Sound("voc_v", "cells") && !vocPerCell.Contains(m.VocV/float64(m.Cells)) {
		t.Report("voc_v", words().VocPerCell,
			m.VocV/float64(m.Cells), m.Cells, vocPerCell, vocPerCell.Min*float64(m.Cells), vocPerCell.Max*float64(m.Cells))
	}
	if t.Sound("cells", "bypass") && m.Cells%m.Bypass != 0 {
		t.Report("bypass", words().Bypass, m.Bypass, m.Cells)
	}
}

// checkArray finds an array that can never fill the battery: only a lower
// voltage than the set-point's is beyond doubt a slip in the file.
func (s *Site) checkArray(t tables) {
	if !t.array.Sound("series") || !t.module.Sound("vmp_v") || !t.controller.Sound("absorb_v") {
		return
	}
	if vmp := float64(s.Array.Series) * s.Array.Module.VmpV; vmp <= s.Controller.AbsorbV {
		t.array.Report("series", words().Series,
			s.Array.Series, vmp, s.Controller.AbsorbV)
	}
}

// checkBattery compares the number of cells with the system voltage.
func (s *Site) checkBattery(t tables) {
	if !t.battery.Sound("chemistry", "blocks", "cells_per_block") || !t.top.Sound("nominal_v") {
		return
	}
	most := int(usualCells(s.NominalV, s.Battery.Chemistry))
	least, kind := most, "lead-acid"
	if !s.Battery.Chemistry.LeadAcid() {
		kind = "lfp"
		if s.NominalV == 48 {
			least = 15 // 15 and 16 cells are both sold as 48 V
		}
	}
	if n := s.Battery.Cells(); n < least || n > most {
		want := tomlfile.Decimal(float64(least))
		if least != most {
			want = tomlfile.Range{Min: float64(least), Max: float64(most)}.String()
		}
		t.battery.Report("cells_per_block", words().Cells,
			n, want, s.NominalV, kind)
	}
}

// usualCells is the number of cells in series in a battery of nominalV.
func usualCells(nominalV float64, c Chemistry) float64 {
	if c.LeadAcid() {
		return nominalV / 2
	}
	return nominalV / 3
}

func (c Controller) check(t *tomlfile.Table) {
	if t.Sound("float_v", "absorb_v") && c.FloatV > c.AbsorbV {
		t.Report("float_v", words().FloatAboveAbsorb, c.FloatV, c.AbsorbV)
	}
	if t.Sound("cut_v", "restore_v") && c.RestoreV <= c.CutV {
		t.Report("restore_v", words().RestoreBelowCut, c.RestoreV, c.CutV)
	}
	if t.Sound("restore_v", "float_v") && c.RestoreV >= c.FloatV {
		t.Report("restore_v", words().RestoreAboveFloat, c.RestoreV, c.FloatV)
	}
}

// checkSetPoints compares the set-points with what the cells can take.
func (s *Site) checkSetPoints(t tables) {
	if !t.battery.Sound("chemistry") || !t.top.Sound("nominal_v") {
		return
	}
	cells := float64(s.Battery.Cells())
	if !t.battery.Sound("blocks", "cells_per_block") {
		cells = usualCells(s.NominalV, s.Battery.Chemistry)
	}
	usual, c := setPointsOf(s.Battery.Chemistry), s.Controller
	for _, p := range []struct {
		name    string
		v       float64
		perCell tomlfile.Range
	}{
		{"absorb_v", c.AbsorbV, usual.absorb},
		{"float_v", c.FloatV, usual.float},
		{"cut_v", c.CutV, usual.cut},
		{"restore_v", c.RestoreV, usual.restore},
	} {
		in := tomlfile.Range{Min: cells * p.perCell.Min, Max: cells * p.perCell.Max, Unit: "V"}
		if t.controller.Sound(p.name) && !in.Contains(p.v) {
			t.controller.Report(p.name, words().SetPoint, p.v, s.NominalV, s.Battery.Chemistry, in)
		}
	}
}
