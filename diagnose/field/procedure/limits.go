package procedure

import "ampwalk/diagnose/physics/site"

// The limits of what is touched with probes.
//
// Source: 60 V DC, basic protection by extra-low voltage in normally dry
// places, IEC 60364-4-41 414.4.5; 120 V DC, upper end of extra-low voltage,
// IEC 61140 (both from memory).
const (
	TouchV    = 60.0  // above it a circuit is neither probed nor opened [V]
	LookOnlyV = 120.0 // above it anywhere, the visit only looks and clamps [V]
)

// ShortA is the largest array current at which the short-circuit test is
// offered [A]: the usual fuse of a meter's current input (common practice).
const ShortA = 10.0

// What a reading must teach to be asked for (choices of this project): less
// than MinBits changes nothing that a visit decides, nor does less than
// MinBitsPerMinute of its effort, setting up included.
const (
	MinBits          = 0.04
	MinBitsPerMinute = 0.004
)

// WalkMinutes is what going from one part of a system to another costs (a
// choice of this project).
const WalkMinutes = 1.0

// coldBatteryC is the coldest battery its charging voltage is reckoned for
// [°C]; batteries stand indoors (common practice).
const coldBatteryC = 10.0

// ChargeMaxV is the highest voltage the controller holds a cool battery at [V]:
// the absorption set-point, compensated per 2 V cell.
//
// A 48 V lead-acid system just stays below [TouchV]: 57.6 V at 25 °C and
// -4 mV/°C per cell give 59.0 V.
func ChargeMaxV(s *site.Site) float64 {
	c := s.Controller
	return max(c.AbsorbV, c.FloatV) + c.CompMVPerCCell/1000*s.NominalV/2*(coldBatteryC-site.NameplateC)
}

// A circuit is what a step touches.
type circuit string

const (
	noCircuit         circuit = ""
	arrayCircuit      circuit = "array"
	controllerCircuit circuit = "controller"
	loadCircuit       circuit = "load"
	batteryCircuit    circuit = "battery"
)

// circuitV is the highest voltage that a hand may meet at c [V]. At the
// controller the array's terminals stand beside the others. With an open
// battery circuit a series or shunt controller passes the array's voltage on.
func circuitV(s *site.Site, c circuit) float64 {
	battery := ChargeMaxV(s)
	array := max(s.OpenCircuitColdV(), battery)
	switch c {
	case arrayCircuit, controllerCircuit:
		return array
	case loadCircuit:
		if s.Controller.LoadOutput && s.Controller.Kind != site.MPPT {
			return array
		}
		return battery
	case batteryCircuit:
		return battery
	default:
		return 0
	}
}

// touchable reports whether this tool lets the site's circuit c be probed or opened.
func touchable(s *site.Site, c circuit) bool {
	return c == noCircuit ||
		circuitV(s, c) <= TouchV && circuitV(s, arrayCircuit) <= LookOnlyV
}

// shortable reports whether the site permits the short-circuit test.
func shortable(s *site.Site) bool {
	return touchable(s, arrayCircuit) && s.Array.ShortCircuitA() <= ShortA
}
