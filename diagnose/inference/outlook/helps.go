package outlook

import (
	"cmp"
	"math"
	"slices"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
)

// A Help is a change and what the worst month would be like with it.
type Help struct {
	ID      string  `json:"id"`              // of its words
	Label   string  `json:"label,omitempty"` // of the load that it is about, "" for none
	Size    float64 `json:"size,omitempty"`
	Change  Change  `json:"change"`
	Missing float64 `json:"missing"` // part of the loads' energy that they would not get
	Cut     float64 `json:"cut"`     // probability of a cut within a week
}

const (
	needsHelp = 0.05 // probability of a cut within a week, from which it is worth asking
	helpsFrom = 0.05 // what a change must take off what is missing, of it
	mostTimes = 4    // strings more for each there is
	mostLoads = 8    // taken out one by one
)

// How much larger a larger battery and a thicker cable are, where one is tried.
const (
	MoreCapacity = 1.5
	MoreCable    = 2
)

// helps are the changes that would help in the worst month, the best first, each worked
// out by leading the changed system through it.
func (l *looker) helps(done Change, y *Year) []Help {
	missing, cut := y.Missed()
	if cut < needsHelp && missing < needsHelp/10 {
		return nil
	}
	var list []Help
	for _, h := range l.ideas(done, y) {
		with := *l
		with.site, with.draws = h.Change.apply(l.site, l.draws)
		with.plant = plant.New(with.site, 0)
		with.uses = h.Change.uses(with.site)
		m := with.month(y.Worst, min(yearDraws, len(l.draws)), nil, nil)
		h.Missing, h.Cut = m.Missing, m.Cut
		if h.Missing < missing*(1-helpsFrom) || h.Missing <= missing && h.Cut < cut-helpsFrom {
			list = append(list, h)
		}
	}
	slices.SortStableFunc(list, func(a, b Help) int {
		return cmp.Or(cmp.Compare(a.Missing, b.Missing), cmp.Compare(a.Cut, b.Cut))
	})
	return list
}

// ideas are the changes worth trying beside what is changed already.
func (l *looker) ideas(done Change, y *Year) []Help {
	var list []Help
	lead, _ := leaderOf(l.draws)
	if lead != condition.Sound {
		list = append(list, Help{ID: "repair", Change: Change{Repaired: true}})
	}
	list = append(list,
		Help{ID: "clean", Change: Change{Clean: true}},
		Help{ID: "string", Size: l.site.Array.Module.PmpW * float64(l.site.Array.Series), Change: Change{Strings: 1}},
		Help{ID: "battery", Size: l.site.Battery.CapacityAh, Change: Change{NewBattery: true}},
		Help{ID: "larger-battery", Size: MoreCapacity * l.site.Battery.CapacityAh, Change: Change{CapacityAh: MoreCapacity * l.site.Battery.CapacityAh}},
		Help{ID: "cable", Size: MoreCable * l.site.Array.CableMM2, Change: Change{ArrayMM2: MoreCable * l.site.Array.CableMM2}},
	)
	if n := l.stringsFor(y); n > 1 {
		list = append(list, Help{ID: "more-strings", Size: float64(n), Change: Change{Strings: n}})
	}
	for i := len(l.uses) - 1; i >= max(0, len(l.uses)-mostLoads); i-- {
		u := l.uses[i]
		if u.Hours == 0 {
			continue
		}
		if u.Priority > l.uses[0].Priority { // what matters most is not for taking out
			list = append(list, Help{ID: "without", Label: u.Label, Change: Change{Without: []string{u.Label}}})
		}
		if u.Evening && u.Hours < 12 && !isLamp(u.Label) {
			list = append(list, Help{ID: "noon", Label: u.Label, Change: Change{AtNoon: []string{u.Label}}})
		}
	}
	for i := range list { // what was changed already stays so
		c := &list[i].Change
		c.AtNoon = append(c.AtNoon, done.AtNoon...)
		c.InEvening = done.InEvening
	}
	return list
}

// stringsFor is how many strings more bring the yield of the worst month above its need by
// the least ratio of array to load; 0 where none do, or more than are worth trying.
func (l *looker) stringsFor(y *Year) int {
	m := &y.Months[y.Worst-1]
	if m.YieldWh.P50 < 1 {
		return 0
	}
	has := float64(l.site.Array.Strings)
	n := math.Ceil(has*ratioLeast*m.NeedWh.P50/m.YieldWh.P50 - has)
	if n > mostTimes*has {
		return 0
	}
	return max(0, int(n))
}
