package procedure

import (
	"fmt"
	"math"
	"strings"
	"text/template"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// facts is what the texts of steps.toml may say about the site.
type facts struct {
	ColdVocV, ChargeMaxV            string // whole volts
	Blocks, Cells                   int
	ArrayRange, SystemRange, OneBlk string // meter ranges, "20 V"
	ArrayA, BatteryA, LoadA, IscA   string // largest current expected, "8 A"
	ArrayFuse, BatteryFuse          string // "10 A", "" where there is none
	CellV                           string // of one cell, whole volts
	Shunt                           bool
	LoadDropV                       string // a twelfth of the system's voltage: "1.0 V"
	LoadOutput                      bool   // else the loads are wired to the battery
	TestLoads                       string // labels of the loads of the load step, "\"a\" and \"b\""
	TestSmall                       bool   // they are small for the battery
	TestDropV                       string // a drop beyond what a sound battery has with them: "0.3 V"
	LFP                             bool
	Lamp                            string // label, in a lamp's own step
	Lamps                           bool   // whether there are any
	Flooded                         bool
	ShortRateA                      string // what a shorting lead must carry, "8 A"
	Nominal, ModuleVocV             string // "12 V", "22.1 V"
	Modules, Series                 int
	Capacity, Chemistry             string // "80 Ah", "flooded lead-acid"
	BatteryShortA                   string // "1700 A"
	InverterA, ChargerA             string // largest current expected, "" where there is none
	BatteryStrings                  int
	Kit                             bool   // a closed kit
	SecondArray                     bool   // a second array is the charger
	USB                             int    // its outputs of 5 V
	Parts                           string // what else is switched off with the loads
}

func factsOf(s *site.Site) facts {
	usb := 0
	if s.Kit != nil {
		usb = s.Kit.USB
	}
	isc := s.Array.ShortCircuitA()
	test := TestLoads(s)
	testA := s.ListedW(test) / s.NominalV
	load := s.AllListedW() / s.NominalV
	if s.Inverter != nil {
		load += s.Inverter.DrawnW(s.Inverter.RatedW) / s.NominalV
	}
	array := bright * isc
	charge := array
	if s.Controller.Kind == site.MPPT { // converts to a higher current
		charge = max(array, bright*s.Array.PowerW()/s.NominalV)
	}
	return facts{
		ColdVocV:    fmt.Sprintf("%.0f V", math.Ceil(s.OpenCircuitColdV())),
		ChargeMaxV:  fmt.Sprintf("%.0f V", math.Ceil(ChargeMaxV(s))),
		Blocks:      s.Battery.Blocks,
		Cells:       s.Battery.Cells(),
		ArrayRange:  meterRange(circuitV(s, arrayCircuit)),
		SystemRange: meterRange(ChargeMaxV(s)),
		OneBlk:      meterRange(ChargeMaxV(s) / float64(max(s.Battery.Blocks, 1))),
		ArrayA:      amps(array),
		BatteryA:    amps(max(charge, load)),
		LoadA:       amps(load),
		IscA:        amps(isc),
		ArrayFuse:   fuse(s.Array.FuseA),
		BatteryFuse: fuse(s.Battery.FuseA),
		LoadOutput:  s.Controller.LoadOutput,
		Shunt:       s.Controller.Kind == site.Shunt,
		LoadDropV:   fmt.Sprintf("%.1f V", s.NominalV/12),
		CellV:       cellV(s.Battery.Chemistry),
		TestLoads:   quotedList(test),
		TestSmall:   testA < smallTest*s.Battery.CapacityAh,
		TestDropV:   testDropV(s, testA),
		LFP:         s.Battery.Chemistry == site.LFP,
		Lamps:       len(s.Controller.Lamps) > 0,
		Flooded:     s.Battery.Chemistry == site.Flooded,
		ShortRateA:  amps(array),
		Nominal:     fmt.Sprintf("%.0f V", s.NominalV),
		ModuleVocV:  fmt.Sprintf("%g V", s.Array.Module.VocV),
		Modules:     s.Array.Series * s.Array.Strings,
		Series:      s.Array.Series,
		Capacity:    fmt.Sprintf("%g Ah", s.Battery.CapacityAh),
		Chemistry:   embedded().Chemistry[s.Battery.Chemistry],

		BatteryShortA:  plant.BatteryShortText(s.Battery),
		InverterA:      inverterA(s),
		ChargerA:       chargerA(s),
		BatteryStrings: s.Battery.Parallel(),
		Kit:            s.Kit != nil,
		SecondArray:    s.SecondArray(),
		USB:            usb,
		Parts:          parts(s),
	}
}

// inverterA is what an inverter may draw with its full power on a low battery.
func inverterA(s *site.Site) string {
	if s.Inverter == nil {
		return ""
	}
	return amps(s.Inverter.DrawnW(s.Inverter.RatedW) / s.Inverter.CutV)
}

func chargerA(s *site.Site) string {
	if s.Charger == nil {
		return ""
	}
	return amps(s.Charger.RatedA)
}

// parts are what is switched off with the loads, as the texts call it.
func parts(s *site.Site) string {
	var list []string
	if s.Inverter != nil {
		list = append(list, embedded().Parts["inverter"])
	}
	if s.Charger != nil {
		name := "charger"
		if s.SecondArray() {
			name = "second-array"
		}
		list = append(list, embedded().Parts[name])
	}
	return strings.Join(list, embedded().Parts["and"])
}

// smallTest is the least load step that says much of a battery, of its capacity
// [A/Ah] (common practice).
const smallTest = 1.0 / 20

// testDropV is the drop after a minute that speaks for a worn battery: twice that
// of a sound one, which has up to 1.8 times the resistance of a new one.
func testDropV(s *site.Site, amps float64) string {
	var out plant.Out
	u := plant.Typical()
	u.StepA = amps
	plant.New(s, 60).Solve(&u, &out)
	drop := out.Value[plant.RestV] - out.Value[plant.StepPostV]
	return fmt.Sprintf("%.1f V", max(0.1, math.Ceil(20*drop)/10))
}

// bright is how much more than at 1000 W/m2 an array gives at the edge of a
// cloud (common practice).
const bright = 1.25

// meterRange is the lowest usual range of a multimeter above v [V].
func meterRange(v float64) string {
	for _, r := range []float64{2, 20, 200} {
		if v < r {
			return fmt.Sprintf("%.0f V", r)
		}
	}
	return "600 V"
}

func cellV(c site.Chemistry) string {
	if c.LeadAcid() {
		return "2 V"
	}
	return "3 V"
}

func amps(a float64) string { return fmt.Sprintf("%.0f A", math.Ceil(a)) }

func fuse(a float64) string {
	if a <= 0 {
		return ""
	}
	return fmt.Sprintf("%g A", a)
}

// write makes a text of steps.toml for the site.
func (f facts) write(text string) (string, error) {
	if !strings.Contains(text, "{{") {
		return text, nil
	}
	t, err := template.New("step").Option("missingkey=error").Parse(text)
	if err != nil {
		return "", err
	}
	var b strings.Builder
	if err := t.Execute(&b, f); err != nil {
		return "", err
	}
	return b.String(), nil
}

// siteHas are the conditions that a step's "if" names.
var siteHas = map[string]func(*site.Site) bool{
	"load-output":   func(s *site.Site) bool { return s.Controller.LoadOutput },
	"loads":         func(s *site.Site) bool { return len(s.Loads) > 0 },
	"inverter":      func(s *site.Site) bool { return s.Inverter != nil },
	"charger":       func(s *site.Site) bool { return s.Charger != nil },
	"strings":       func(s *site.Site) bool { return s.Battery.Parallel() > 1 },
	"kit":           func(s *site.Site) bool { return s.Kit != nil },
	"usb":           func(s *site.Site) bool { return s.Kit != nil && s.Kit.USB > 0 },
	"locks":         func(s *site.Site) bool { return s.Kit != nil && s.Kit.Locks },
	"earthing":      func(s *site.Site) bool { return s.Earthing != "" },
	"pack":          func(s *site.Site) bool { return !s.Battery.Chemistry.LeadAcid() },
	"blocks":        func(s *site.Site) bool { return s.Battery.Blocks > 1 },
	"flooded":       func(s *site.Site) bool { return s.Battery.Chemistry == site.Flooded },
	"shortable":     shortable,
	"array-strings": func(s *site.Site) bool { return s.Array.Strings > 1 },
	"limited":       func(s *site.Site) bool { return len(limitsOf(s)) > 0 },
}

// limitsOf names the entries of [limit] that say why steps are left out at s.
func limitsOf(s *site.Site) []string {
	switch {
	case circuitV(s, arrayCircuit) > LookOnlyV:
		return []string{"look_only"}
	case !touchable(s, batteryCircuit):
		return []string{"battery"}
	case !touchable(s, arrayCircuit):
		return []string{"array"}
	default:
		return nil
	}
}
