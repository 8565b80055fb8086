package halfsplit

import (
	"math/rand/v2"

	"ampwalk/diagnose/physics/site"
)

// Invent draws a site with what the search looks at: circuits, cables, fuses and
// nameplates of usual small systems (judgement).
func Invent(rng *rand.Rand) *site.Site {
	pick := func(list ...float64) float64 { return list[rng.IntN(len(list))] }
	fuse := func(amps float64) float64 {
		if rng.IntN(3) == 0 {
			return 0
		}
		return amps
	}
	volts := pick(12, 12, 24, 48)
	series := int(volts / 12)
	isc := pick(1.2, 2.9, 5.6)
	s := &site.Site{
		Name: "invented", NominalV: volts,
		Array: site.Array{
			Series: series, Strings: 1 + rng.IntN(3), FuseA: fuse(15), CableM: pick(4, 8, 15, 25), CableMM2: pick(2.5, 4, 6),
			Module: site.Module{PmpW: 17 * isc, VmpV: 18, ImpA: 0.94 * isc, VocV: 22, IscA: isc, Cells: 36, Bypass: 2, IscPctPerC: 0.05, VocPctPerC: -0.32, NOCTC: 46},
		},
		Controller: site.Controller{Kind: site.Series, RatedA: 20, AbsorbV: 1.2 * volts, FloatV: 1.14 * volts, CutV: 0.95 * volts, RestoreV: 1.05 * volts, OwnUseMA: 10, LoadOutput: rng.IntN(3) > 0},
		Battery:    site.Battery{Chemistry: site.Flooded, CapacityAh: pick(40, 80, 200), Blocks: series, CellsPerBlock: 6, FuseA: fuse(30), CableM: pick(0.6, 1, 2, 4), CableMM2: pick(4, 6, 16)},
		Loads:      []site.Load{{Label: "lamps", PowerW: volts * pick(0.4, 1, 2.5), HoursPerDay: 5, Priority: 1}},
		LoadWiring: site.LoadWiring{FuseA: fuse(10), CableM: pick(3, 8, 15, 25), CableMM2: pick(1.5, 2.5, 4)},
	}
	if rng.IntN(3) == 0 {
		s.Controller.Kind = site.MPPT
		s.Array.Series *= 2
	}
	return s
}
