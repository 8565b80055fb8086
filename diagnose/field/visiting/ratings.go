package visiting

import (
	"fmt"

	"ampwalk/diagnose/physics/site"
)

// sunMargin is how far a fuse in an array's circuit stands above the short-circuit
// current of standard test conditions, since the sun can be brighter than there.
//
// Source: the 1.25 of common practice for strong sun (IEC 62548, from memory).
const sunMargin = 1.25

// closeEnough is how much of what it should be a rating may have and pass:
// fuses come in steps and nameplates are no closer (judgement).
const closeEnough = 0.97

// ratings are remarks on fuses and a controller too small for the current of
// their circuit, and on a battery without a fuse.
func ratings(s *site.Site) []string {
	var all []string
	r := remarks()
	isc, loads := s.Array.ShortCircuitA(), s.ListedFromW(s.MainSource())/s.NominalV
	drawn := batteryDrawA(s)
	if f := s.Array.FuseA; f > 0 && f < closeEnough*sunMargin*isc {
		all = append(all, fmt.Sprintf(r.ArrayFuse, f, isc, sunMargin*isc))
	}
	if f := s.LoadWiring.FuseA; f > 0 && f < closeEnough*loads {
		all = append(all, fmt.Sprintf(r.LoadFuse, f, loads))
	}
	switch f := s.Battery.FuseA; {
	case s.Kit != nil: // inside, where nobody looks
	case f == 0:
		all = append(all, r.NoFuse)
	case f < closeEnough*drawn:
		all = append(all, fmt.Sprintf(r.BatteryFuse, f, drawn))
	}
	into := isc
	if s.Controller.Kind == site.MPPT { // it passes on the power, at the battery's voltage
		into = s.Array.PowerW() / s.NominalV
	}
	if v := s.OpenCircuitColdV(); s.Controller.InputV > 0 && v > s.Controller.InputV {
		all = append(all, fmt.Sprintf(r.Input, float64(site.ColdestC), v, s.Controller.InputV))
	}
	if s.Controller.RatedA < closeEnough*into {
		all = append(all, fmt.Sprintf(r.Rated, s.Controller.RatedA, into))
	}
	return all
}

// batteryDrawA is what all listed loads draw together through the battery's fuse [A]. An
// inverter at the posts has a fuse of its own.
func batteryDrawA(s *site.Site) float64 {
	w := s.ListedFromW(s.MainSource())
	if i := s.Inverter; i != nil && i.From == site.FromOutput {
		w += i.DrawnW(min(i.RatedW, s.ListedFromW(site.FromInverter)))
	}
	return w / s.NominalV
}
