package visiting

import (
	_ "embed"
	"fmt"
	"math"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

//go:embed remarks.toml
var remarksFile []byte

// remarkTexts is remarks.toml.
type remarkTexts struct {
	Peak, Voc, Air, Frost, Rated, Input string

	ArrayFuse   string `toml:"array_fuse"`
	LoadFuse    string `toml:"load_fuse"`
	BatteryFuse string `toml:"battery_fuse"`
	NoFuse      string `toml:"no_fuse"`

	Kit               string
	Charger, Second   string
	Strings           string
	ManyStrings       string `toml:"many_strings"`
	TooManyCells      string `toml:"too_many_cells"`
	InverterDrop      string `toml:"inverter_drop"`
	InverterCable     string `toml:"inverter_cable"`
	InverterNoFuse    string `toml:"inverter_no_fuse"`
	InverterFuseLarge string `toml:"inverter_fuse_large"`
	InverterFuseSmall string `toml:"inverter_fuse_small"`
	InverterAtOutput  string `toml:"inverter_at_output"`
	InverterSmall     string `toml:"inverter_small"`
	ChargerHigh       string `toml:"charger_high"`
	ChargerLow        string `toml:"charger_low"`
	ChargerFloat      string `toml:"charger_float"`
	ChargerAmps       string `toml:"charger_amps"`
}

var remarks = sync.OnceValue(func() remarkTexts {
	return datafile.Read[remarkTexts]("diagnose/field/visiting/remarks.toml", remarksFile)
})

// Misfits of a nameplate that are worth a remark: of the power, and of the
// change of Voc a degree [1/K]. Labels round their figures about as much.
const (
	peakMisfitFrom = 0.01
	vocMisfitFrom  = 0.0003
)

// tropicDeg is the latitude within which frost at the battery is no matter
// (judgement; mountains excepted).
const tropicDeg = 23.5

// Remarks are what is worth knowing of a site whose file is good: how far the
// module's nameplate is from any model, fuses that do not suit their current, what a
// visit leaves out there because of the voltage, the air that a battery needs, frost.
func Remarks(s *site.Site) []string {
	var all []string
	r := remarks()
	m := &s.Array.Module
	fit := plant.FitNameplate(*m)
	if math.Abs(fit.PeakMisfit) > peakMisfitFrom {
		all = append(all, fmt.Sprintf(r.Peak, 100*fit.PeakMisfit))
	}
	if math.Abs(fit.VocMisfit) > vocMisfitFrom {
		all = append(all, fmt.Sprintf(r.Voc, m.VocPctPerC+100*fit.VocMisfit, m.VocPctPerC))
	}
	all = append(all, ratings(s)...)
	all = append(all, partRemarks(s)...)
	all = append(all, procedure.For(s).Limits...)
	b := &s.Battery
	if s.Kit != nil {
		return append(all, r.Kit)
	}
	if air := plant.VentilationM3PerH(b.Chemistry, b.Cells(), b.CapacityAh, true); air > 0 {
		all = append(all, fmt.Sprintf(r.Air, air, max(1, air*plant.OpeningCM2PerM3H)))
	}
	if b.Chemistry == site.Flooded && math.Abs(s.Place.LatitudeDeg) > tropicDeg {
		freezes := func(soc float64) float64 {
			return plant.FreezingC(plant.SpecificGravity(plant.RestVoltage(b.Chemistry, soc, 0, 0)))
		}
		all = append(all, fmt.Sprintf(r.Frost, freezes(0), freezes(1)))
	}
	return all
}
