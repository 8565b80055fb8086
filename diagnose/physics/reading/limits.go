package reading

import (
	"fmt"
	"math"
	"strings"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

// A LimitError is a value outside of limits.
type LimitError struct {
	Key    Key
	Value  float64
	Limits tomlfile.Range // in the unit of the reading
	Refuse bool           // no instrument could show it, and Parse would not take it
}

// Error says the value and the limits.
func (e *LimitError) Error() string {
	why := words().Unusual
	if e.Refuse {
		why = words().Impossible
	}
	value := strings.TrimSpace(tomlfile.Decimal(e.Value) + " " + e.Limits.Unit)
	return fmt.Sprintf(why, value, e.Limits)
}

// Shown is e with the signs that people see, see [Spec.Shown].
func (e *LimitError) Shown() *LimitError {
	shown := *e
	spec, _ := SpecOf(e.Key)
	a, b := spec.Shown(e.Limits.Min), spec.Shown(e.Limits.Max)
	shown.Value, shown.Limits.Min, shown.Limits.Max = spec.Shown(e.Value), min(a, b), max(a, b)
	return &shown
}

// Plausible questions a value that this site would hardly show, sound or
// faulty, as a [LimitError]. Such a value is worth asking for again, once.
// The value is one number of a list where k is one.
func Plausible(k Key, v float64, s *site.Site) error {
	if in := limitsOf(k, s).usual; !in.Contains(v) {
		return &LimitError{Key: k, Value: v, Limits: in}
	}
	return nil
}

// Possible refuses a value that no instrument at this site could show, as a
// [LimitError]: a 12 V system at 900 V, a temperature of 400 °C. Whatever is
// [Plausible] is possible.
func Possible(k Key, v float64, s *site.Site) error {
	if in := limitsOf(k, s).outer; !in.Contains(v) {
		return &LimitError{Key: k, Value: v, Limits: in, Refuse: true}
	}
	return nil
}

// limits of one reading.
type limits struct{ usual, outer tomlfile.Range }

// How far readings go beyond what nameplates say (common practice, on the
// generous side: a value that is questioned needlessly costs an answer, one
// that is taken wrongly only costs certainty).
const (
	brightestSun  = 1.3  // of the nameplate's light: edges of clouds, cold air
	hottestCharge = 1.4  // of nominal voltage: equalising, cold, set-point too high
	zeroV         = 0.5  // what a voltmeter shows of nothing, with a diode's drop [V]
	zeroA         = 0.5  // what a clamp shows of nothing [A]
	backward      = 0.3  // of the array's current, leaking back at night
	overload      = 3    // of the listed loads: excess, starting
	stepPerAh     = 0.5  // load step of a battery's capacity [A/Ah]
	standbyPerAh  = 0.02 // standing draw of a battery's capacity [A/Ah]
	outerFactor   = 3    // outer limits of a voltage
	outerCurrent  = 20   // outer limits of a current: a slip of the decimal point passes
)

func limitsOf(k Key, s *site.Site) limits {
	arrayV := 1.1 * s.OpenCircuitColdV()
	arrayA := brightestSun*s.Array.ShortCircuitA() + zeroA
	batteryV := hottestCharge * s.NominalV
	// A converter that lowers the voltage raises the current.
	chargeA := max(arrayA, brightestSun*s.Array.PowerW()/s.NominalV+zeroA)
	loadA := overload*s.AllListedW()/s.NominalV + 1
	drawA := loadA + standbyPerAh*s.Battery.CapacityAh
	inverterA, chargerA := 0.0, 0.0
	if s.Inverter != nil {
		inverterA = overload*s.Inverter.RatedW/s.NominalV + 1
		drawA += inverterA
	}
	if s.Charger != nil {
		chargerA = brightestSun*s.Charger.RatedA + zeroA
		chargeA += chargerA
	}
	stepA := stepPerAh*s.Battery.CapacityAh + 1

	// Limits that are computed are shown to people: outward to a round number.
	about := func(lo, hi, far float64, unit string) limits {
		far = math.Ceil(far)
		return limits{
			tomlfile.Range{Min: math.Floor(10*lo) / 10, Max: math.Ceil(10*hi) / 10, Unit: unit},
			tomlfile.Range{Min: -far, Max: far, Unit: unit},
		}
	}
	volts := func(lo, hi float64) limits { return about(lo, hi, outerFactor*max(arrayV, batteryV), "V") }
	amperes := func(lo, hi float64) limits {
		return about(lo, hi, outerCurrent*max(chargeA, drawA, stepA), "A")
	}
	fixed := func(lo, hi, outerLo, outerHi float64, unit string) limits {
		return limits{tomlfile.Range{Min: lo, Max: hi, Unit: unit}, tomlfile.Range{Min: outerLo, Max: outerHi, Unit: unit}}
	}

	if _, _, ok := k.Node(); ok {
		return volts(-zeroV, max(arrayV, batteryV))
	}
	switch k {
	case Irradiance, Irradiance2:
		return fixed(0, 1400, -20, 2000, "W/m2") // meters have a zero error too
	case ModuleC, ModuleC2:
		return fixed(-25, 90, -60, 150, "°C")
	case AirC:
		return fixed(-25, 55, -60, 80, "°C")
	case BatteryC:
		return fixed(-20, 60, -50, 100, "°C")
	case ArrayV, OpenV: // negative where the leads are exchanged
		return volts(-arrayV, max(arrayV, batteryV))
	case ModuleV:
		return volts(-zeroV, max(arrayV, batteryV))
	case ArrayA:
		return amperes(-backward*arrayA-zeroA, arrayA)
	case ShortA:
		return amperes(-arrayA, arrayA)
	case BatteryV, LoadV, LoadEndV: // the array's voltage where the battery is off
		return volts(-zeroV, max(arrayV, batteryV))
	case PostV, RestV, StepPostV:
		return volts(-zeroV, batteryV)
	case InverterV:
		return volts(-zeroV, batteryV)
	case PlusEarthV, MinusEarthV:
		return volts(-max(arrayV, batteryV), max(arrayV, batteryV))
	case BlockV, StepBlockV:
		return volts(-zeroV, batteryV/float64(s.Battery.Blocks))
	case BatteryA:
		return amperes(-drawA, chargeA)
	case LoadA:
		return amperes(-zeroA, loadA+inverterA)
	case InverterA:
		return amperes(-zeroA, inverterA)
	case ChargerA:
		return amperes(-zeroA, chargerA)
	case StringA: // one string may charge another
		most := max(drawA, chargeA, stepPerAh*s.Battery.CapacityAh)
		return amperes(-most, most)
	case USBV:
		return fixed(-zeroV, 6, -30, 30, "V") // 5 V and a little more; some kits give 9 or 12 on demand
	case OutputW, RunW:
		return fixed(0, overload*s.AllListedW()+1, 0, outerCurrent*(overload*s.AllListedW()+1), "W")
	case RunH:
		return fixed(0, 100, 0, 1000, "h")
	case PackPercent:
		return fixed(0, 100, 0, 100, "%")
	case StandbyA:
		return amperes(-zeroA, standbyPerAh*s.Battery.CapacityAh+zeroA)
	case StepA:
		return amperes(-zeroA, stepA)
	case Minutes:
		return fixed(0, 48*60, 0, 30*24*60, "min")
	case Gravity:
		return fixed(1.040, 1.320, 0.9, 1.5, "")
	default:
		return limits{}
	}
}
