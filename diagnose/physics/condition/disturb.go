package condition

import (
	"math"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// Options is how many ways a condition can act that no single number joins (a
// break before or after the plug), with the share of each; at least one. The
// shares are judgement.
func Options(id ID, s *site.Site) []float64 {
	switch id {
	case ArrayOpen: // before, after the plug
		return []float64{0.5, 0.5}
	case ArrayJoint:
		return []float64{0.4, 0.6}
	case ArrayReversed: // without, with a diode in the controller that conducts it
		return []float64{0.5, 0.5}
	case ArrayShaded:
		return even(len(shadedGroups(s)))
	case BatteryOpen, BatteryOff: // the controller asleep, running on the array alone
		if s.Kit != nil { // asleep in sun too it is as good as dead
			return []float64{1}
		}
		return []float64{0.5, 0.5}
	case StandbyDrain: // at the posts, the controller's terminals, the loads
		return []float64{1. / 3, 1. / 3, 1. / 3}
	case LoadOutputOpen: // of a closed kit: all outputs, one of them
		if s.Kit != nil && s.Kit.USB > 0 {
			return []float64{0.4, 0.6}
		}
	case ApplianceFault: // which of the loads
		return even(len(s.Loads))
	case EarthFault:
		return even(len(earthed(s)))
	}
	return []float64{1}
}

func even(n int) []float64 {
	o := make([]float64, n)
	for i := range o {
		o[i] = 1 / float64(n)
	}
	return o
}

// earthed are the conductors that may be joined to earth where they should not be.
func earthed(s *site.Site) []plant.Earth {
	switch s.Earthing {
	case site.PolePlus:
		return []plant.Earth{plant.EarthMinus, plant.EarthBetween}
	case site.PoleMinus:
		return []plant.Earth{plant.EarthPlus, plant.EarthBetween}
	}
	return []plant.Earth{plant.EarthPlus, plant.EarthMinus, plant.EarthBetween}
}

// shadedGroups lists how many bypass groups of one string a shadow may cover:
// one, half of the string, all of it.
func shadedGroups(s *site.Site) []int {
	all := max(1, s.Array.Module.Bypass) * s.Array.Series
	n := []int{1}
	if half := (all + 1) / 2; half > 1 && half < all {
		n = append(n, half)
	}
	if all > 1 {
		n = append(n, all)
	}
	return n
}

// Disturb makes the condition act on a plant. The severities a and b, 0 to 1,
// run evenly over the range in which it counts as this fault; option is an
// index into [Options].
//
// Ranges that the readings format does not bound from above are judgement: a
// leak or drain to ten times its least, a load joint to four times.
func Disturb(id ID, s *site.Site, u *plant.Unknowns, a, b float64, option int) {
	f := &u.Fault
	v12 := s.NominalV / 12
	m := &s.Array.Module
	switch id {
	case Sound:
	case ArrayOpen:
		f.ArrayOpen = plant.BeforePlug + plant.Open(option)
	case ArrayReversed:
		f.Reversed, u.Blocking = true, option == 1
	case ArrayJoint:
		ohm := logRange(0.04, 0.5, a) * m.VmpV * float64(s.Array.Series) / (m.ImpA * float64(s.Array.Strings))
		if option == 0 {
			f.JointBefore = ohm
		} else {
			f.JointAfter = ohm
		}
	case ArraySoiled:
		f.LightLost, u.Soiling = linRange(0.15, 0.5, a), 0
	case ArrayAged:
		f.CurrentLost = linRange(0.15, 0.4, a)
	case ArrayShaded:
		f.ShadedGroups, f.ShadeLight = shadedGroups(s)[option], linRange(0, 0.4, a)
	case StringOpen:
		f.StringsOpen = 1
	case BypassShort:
		f.BypassShorts = 1
	case ChargePathOpen:
		f.ChargeOpen = true
	case ChargePathStuck:
		f.ChargeStuck = true
	case SetPointLow:
		f.SetPointShift = -linRange(0.4, 1.2, a) * v12
	case SetPointHigh:
		f.SetPointShift = linRange(0.4, 1.2, a) * v12
	case ReverseLeak:
		f.LeakA = logRange(0.1, 1, a)
	case ControllerDead:
		f.Dead = true
	case LoadOutputOpen:
		if option == 1 {
			f.USBLost = 1
		} else {
			f.LoadOff = true
		}
	case BatteryOpen:
		f.BatteryOpen, u.RunsAlone = true, option == 1 || s.Kit != nil
	case BatteryJoint:
		f.BatteryJoint = logRange(0.03, 0.5, a) * v12
	case CellShort:
		// A short of long standing has discharged its cell, a fresh one has not yet.
		f.ShortedCells, f.AcidLost = 1, linRange(0, 0.15, a)
	case BatteryWorn:
		f.OhmX, f.CapacityX = logRange(3, 8, a), linRange(0.6, 0.2, b)
	case BatteryOff:
		f.PackOff, u.RunsAlone = true, option == 1 || s.Kit != nil
	case LoadOpen:
		f.LoadOpen = true
	case LoadExcess:
		f.LoadX = logRange(1.4, 3.5, a)
	case StandbyDrain:
		least := max(0.05, 0.02*s.Battery.CapacityAh/24)
		f.DrainA, f.DrainAt = logRange(least, 10*least, a), plant.Drain(option)
	case LoadJoint:
		f.LoadJoint = logRange(1, 4, a) * 0.08 * s.NominalV * s.NominalV / s.ListedFromW(s.MainSource())
	case ArrayShort:
		f.ArrayShort, f.ShortAt = true, a
	case CutOffFails:
		f.NoCut = true
	case BlockWeak: // it has lost capacity as its resistance rose
		f.WeakX, f.CapacityX = logRange(2.5, 10, a), linRange(0.8, 0.25, b)
	case BatteryStringOpen:
		f.StringsLost = 1
	case ElectrolyteLow: // the dry part of the plates gives nothing, and the acid left is stronger
		dry := linRange(0.1, 0.6, a)
		f.OhmX, f.CapacityX, f.AcidGained = 1/(1-dry), 1-dry, linRange(0, 0.06, b)
	case ApplianceFault:
		f.DeadLoad, f.DeadDraws = option+1, linRange(0, 0.1, a)
	case InverterOff:
		f.InverterOff = true
	case InverterStarved:
		f.InverterJoint = logRange(0.01, 0.2, a) * v12
	case EarthFault:
		f.EarthAt, f.EarthOhm, f.EarthPart = earthed(s)[option], logRange(1, 10000, a), linRange(0.1, 0.9, b)
	}
}

func linRange(lo, hi, x float64) float64 { return lo + (hi-lo)*x }

func logRange(lo, hi, x float64) float64 { return lo * math.Pow(hi/lo, x) }
