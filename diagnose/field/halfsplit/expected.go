package halfsplit

import (
	"math"

	"ampwalk/diagnose/physics/site"
)

// A normal is a normal distribution.
type normal struct{ mean, sd float64 }

func (n normal) variance() float64 { return n.sd * n.sd }

// expected is what the two ends of a circuit may show before anything is read.
// All of it is judgement, wide on purpose: the readings at the ends soon say better.
type expected struct {
	open     normal  // at the source, with no current [V]
	closed   normal  // at the source, with current [V]
	fed      normal  // on the far side of a break, where something feeds it [V]
	current  normal  // where nobody measured it [A]
	most     float64 // what a slip may show at most [V]
	joint    span    // of a bad joint [ohm]
	drift    float64 // how far the source moves from one reading to the next with no current, of its voltage, standard deviation
	held     float64 // the same with current, when both ends hold it
	kinds    kinds   // of the far side, where it is not known
	oneWayIs bool    // current flows from the source to the sink only
}

// kinds are the probabilities of what the far side of a break shows.
type kinds struct{ dead, ghost, fed float64 }

// kindsOf are those where the far side is known to be dead or fed. A little is left
// to the other: people may be wrong about it.
var kindsOf = map[Far]kinds{
	FarDead: {dead: 0.68, ghost: 0.3, fed: 0.02},
	FarFed:  {dead: 0.07, ghost: 0.03, fed: 0.9},
}

// expect takes its figures from the nameplates. An array in daylight shows 0.8 to
// 1.05 of its nameplate voltage with no current, hot or cool; a battery 0.92
// (empty) to 1.2 (charging) of its nominal voltage; common practice.
func expect(s *site.Site, c Circuit) expected {
	v := s.NominalV
	voc, vmp := s.Array.OpenCircuitV(site.NameplateC), float64(s.Array.Series)*s.Array.Module.VmpV
	e := expected{
		open: normal{1.06 * v, 0.08 * v}, closed: normal{1.05 * v, 0.08 * v},
		fed: normal{v, 0.2 * v}, most: 2 * max(voc, v), drift: 0.004, held: 0.003,
	}
	switch c {
	case Array:
		imp := float64(s.Array.Strings) * s.Array.Module.ImpA
		e.open, e.closed, e.drift = normal{0.91 * voc, 0.08 * voc}, normal{0.72 * voc, 0.12 * voc}, 0.012
		e.current, e.joint, e.oneWayIs = normal{0.6 * imp, 0.3 * imp}, span{0.04, 0.5}.times(vmp/imp), true
		if s.Controller.Kind == site.MPPT {
			e.held = 0.01 // it seeks
		}
		e.fed = normal{0.7 * v, 0.4 * v} // the battery, through what leaks in the controller
		e.kinds = kinds{dead: 0.5, ghost: 0.2, fed: 0.3}
	case Battery:
		load := max(s.AllListedW(), 1) / v
		charge := min(float64(s.Array.Strings)*s.Array.Module.ImpA*max(1, vmp/v), max(s.Controller.RatedA, 1))
		e.current, e.joint = normal{0, max(load, charge)}, span{0.03, 0.5}.times(v/12)
		high := max(voc, 1.3*v)
		e.fed = normal{(v + high) / 2, (high-v)/3 + 0.1*v}
		e.kinds = kinds{dead: 0.35, ghost: 0.2, fed: 0.45}
	case Load:
		load := max(s.AllListedW(), 1) / v
		e.current, e.joint, e.oneWayIs = normal{0.7 * load, 0.4 * load}, span{0.08, 0.5}.times(v/load), true
		e.kinds = kinds{dead: 0.68, ghost: 0.3, fed: 0.02}
	}
	return e
}

// The ghost voltage of a floating wire: what leaks over a break, 1 megohm to
// 1 gigohm, against the input of a usual multimeter (common practice; the range of
// the leak is judgement).
const (
	meterOhm = 10e6
	leakLow  = 1e6
	leakHigh = 1e9
	leaks    = 8 // steps that stand for the range, even in the logarithm
)

// A ghost is a share of the source's voltage.
type ghost struct{ share, sd float64 }

// ghosts are the shares that a floating wire shows, all alike in probability: the
// divider of leak and meter. Within a step the leak is even in its logarithm, and
// the share moves by share·(1 − share) for each unit of it.
func ghosts() (list []ghost) {
	width := math.Log(leakHigh/leakLow) / leaks
	for i := range leaks {
		leak := leakLow * math.Exp(width*(float64(i)+0.5))
		share := meterOhm / (meterOhm + leak)
		list = append(list, ghost{share, share * (1 - share) * width / math.Sqrt(12)})
	}
	return list
}

// A span is a range of resistances [ohm].
type span struct{ lo, hi float64 }

func (r span) times(by float64) span { return span{r.lo * by, r.hi * by} }

// drops are what a bad joint may take at a current of about that size: as much as is
// called a fault (the table of conditions), half of it and double to spare, even in the
// logarithm, each a normal as wide as its step. What takes less is no fault that a
// class would be sure of.
func (r span) drops(flows normal) (list []normal) {
	const steps = 14
	most := math.Abs(flows.mean) + flows.sd
	least := max(math.Abs(flows.mean)-flows.sd, most/8)
	lo, hi := max(0.5*r.lo*least, minDrop), max(2*r.hi*most, 2*minDrop)
	ratio := math.Pow(hi/lo, 1./steps)
	for i := range steps {
		d := lo * math.Pow(ratio, float64(i)+0.5)
		list = append(list, normal{d, d * math.Log(ratio) / 2})
	}
	return list
}

// minDrop is below what a voltmeter tells from nothing [V] (judgement).
const minDrop = 0.02
