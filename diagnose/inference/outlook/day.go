package outlook

import (
	"slices"
	"time"
)

// A Source is where the power for a load comes from in an hour.
type Source string

// The sources.
const (
	FromArray   Source = "array"
	FromBattery Source = "battery"
	NotToday    Source = "not"
)

// Day is the plan of the 24 hours from From on.
type Day struct {
	From  time.Time `json:"from,omitzero"` // a whole hour
	Loads []LoadDay `json:"loads"`
}

// A LoadDay says of each hour where the power would come from if the load ran in it,
// beside its planned use and that of all that is as important or more.
type LoadDay struct {
	Label  string      `json:"label"`
	Hours  [24]Source  `json:"hours"`
	Sun    [24]float64 `json:"sun"`    // probability that the array carries it
	Spares [24]float64 `json:"spares"` // probability that the battery stays above its reserve until the next day's sun
}

const (
	// planned is the probability from which an hour counts (judgement).
	planned = 0.8
	// Reserves, as parts of what the battery holds today: half for lead-acid (common
	// practice), a fifth for LFP (judgement).
	reserveLead, reserveLFP = 0.5, 0.2
	dayStep                 = 30 * time.Minute
	daySteps                = 72 // until the noon after: the night of the last hour is among them
)

// reserve is what loads of a priority leave in the battery: those that matter most may
// take it down to the cut-off.
func (l *looker) reserve(priority int) float64 {
	if priority == l.uses[0].Priority {
		return 0
	}
	if l.site.Battery.Chemistry.LeadAcid() {
		return reserveLead
	}
	return reserveLFP
}

func (l *looker) day() Day {
	from := l.at.Truncate(time.Hour)
	s := newStretch(l.climate, from, dayStep, daySteps, l.uses)
	per := int(time.Hour / dayStep)
	d := Day{From: from}
	var levels []int
	for _, u := range l.uses {
		d.Loads = append(d.Loads, LoadDay{Label: u.Label})
		if !slices.Contains(levels, u.Priority) {
			levels = append(levels, u.Priority)
		}
	}
	type tally struct{ sun, spare [][24]bool } // of a draw, by load
	tallies := make([]tally, len(l.draws))
	each(len(l.draws), func(k int) {
		t := tally{make([][24]bool, len(l.uses)), make([][24]bool, len(l.uses))}
		for _, level := range levels {
			l.planFor(k, s, level, per, t.sun, t.spare)
		}
		tallies[k] = t
	})
	for j := range d.Loads {
		x := &d.Loads[j]
		for h := range x.Hours {
			for k := range tallies {
				if tallies[k].sun[j][h] {
					x.Sun[h] += 1 / float64(len(l.draws))
				}
				if tallies[k].spare[j][h] {
					x.Spares[h] += 1 / float64(len(l.draws))
				}
			}
			switch {
			case x.Sun[h] >= planned:
				x.Hours[h] = FromArray
			case x.Spares[h] >= planned:
				x.Hours[h] = FromBattery
			default:
				x.Hours[h] = NotToday
			}
		}
	}
	return d
}

// planFor leads one draw through the day with the planned use of all up to a priority, and
// marks for the loads of that priority the hours in which the array carries them, and those
// in which the battery can.
func (l *looker) planFor(k int, s *stretch, level, per int, sun, spare [][24]bool) {
	r := l.runner(k)
	n := len(s.skies)
	could, soc, volts, down := make([]float64, n), make([]float64, n), make([]float64, n), make([]bool, n)
	clear := l.climate.days(k, l.at, s.number+1, l.found[k])
	r.lead(s, clear, l.mean[k], func(i int) powers { return s.watts(i, level) }, func(i int) {
		could[i] = r.f.In + r.o.SpareW - r.f.Own - r.f.Drain
		soc[i], volts[i], down[i] = r.u.SoC, max(r.f.CellsV, 1), !r.fed() || r.o.LoadsCut
	})
	// From the end: the lowest charge from a step until the sun of the next day fills it again.
	lowest, cut := make([]float64, n), make([]bool, n)
	for i := n - 1; i >= 0; i-- {
		lowest[i], cut[i] = soc[i], down[i]
		if i+1 < n && could[i] <= s.watts(i, level).dc*r.listed {
			lowest[i], cut[i] = min(soc[i], lowest[i+1]), down[i] || cut[i+1]
		}
	}
	for j, u := range l.uses {
		if u.Priority != level {
			continue
		}
		w := u.needW() * r.listed
		for h := range 24 {
			carried, held := true, true
			for i := h * per; i < (h+1)*per; i++ {
				rest := (s.watts(i, level).dc - u.needW()*s.on[j][i]) * r.listed
				carried = carried && could[i]-rest >= w && !down[i]
				taken := 0.0
				if s.on[j][i] < 1 { // it would be beside the planned use
					taken = w * (1 - s.on[j][i]) / (volts[i] * r.ah)
				}
				held = held && !cut[i] && lowest[i]-taken >= l.reserve(level)
			}
			sun[j][h], spare[j][h] = carried, held
		}
	}
}
