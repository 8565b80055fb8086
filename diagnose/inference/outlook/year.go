package outlook

import (
	"math"
	"time"

	"ampwalk/diagnose/physics/site"
)

// Year is how the months go, all loads as planned and what is wrong left as it is.
type Year struct {
	Months [12]Month  `json:"months"`
	Worst  time.Month `json:"worst"`   // the month with the least yield for its need, of those in which the most is missing
	NeedWh float64    `json:"need_wh"` // of the listed loads, by their labels, a day
	Life   Band       `json:"life"`    // of a new battery used like this [years]
	Cycle  Band       `json:"cycle"`   // of its capacity taken out each day
}

// A Month is a usual week of it.
type Month struct {
	SunH    Band    `json:"sun_h"`    // peak sun hours a day in the plane
	YieldWh Band    `json:"yield_wh"` // what the array could give a day, at the controller's battery side
	NeedWh  Band    `json:"need_wh"`  // what loads, controller, drains and wires take a day
	Short   float64 `json:"short"`    // probability that it could give less than the loads need
	Cut     float64 `json:"cut"`      // probability of a cut within a week
	Missing float64 `json:"missing"`  // part of the loads' energy that they do not get
	Depth   Band    `json:"depth"`    // of a day's discharge, part of what the battery holds today
	Lowest  Band    `json:"lowest"`   // charge within the week
}

const (
	yearDraws = 40
	yearStep  = time.Hour
	settling  = 4 // days before the week counts
	monthDays = settling + 7
	yearStart = 0.8 // charge at their beginning
)

func (l *looker) year() Year {
	y := Year{NeedWh: needWh(l.uses)}
	n := min(yearDraws, len(l.draws))
	depth := make([]float64, n)
	air := make([]float64, n)
	for m := range y.Months {
		y.Months[m] = l.month(time.Month(m+1), n, depth, air)
	}
	y.Worst = worst(&y.Months)
	life := make([]float64, n)
	for k := range n {
		depth[k] /= 12
		life[k] = lifeYears(l.site.Battery.Chemistry, depth[k], air[k]/12, chance(chanceLife, k).NormFloat64())
	}
	y.Life, y.Cycle = bandOf(life), bandOf(depth)
	return y
}

func worst(months *[12]Month) time.Month {
	most := 0.0
	for m := range months {
		most = max(most, months[m].Missing)
	}
	w := -1
	share := func(m int) float64 { return months[m].YieldWh.P50 / max(months[m].NeedWh.P50, 1e-9) }
	for m := range months {
		if months[m].Missing >= most-alikeMissing && (w < 0 || share(m) < share(w)) {
			w = m
		}
	}
	return time.Month(w + 1)
}

// alikeMissing is by how much the parts that are missing may differ in two months that are
// as bad: they hang on what the battery held before (judgement).
const alikeMissing = 0.02

// dark reports whether no month gives anything.
func (y *Year) dark() bool {
	for m := range y.Months {
		if y.Months[m].YieldWh.P50 >= 1 {
			return false
		}
	}
	return true
}

// A weekOf is how one draw fared in the week of a month that counts.
type weekOf struct {
	sunH, yield, need, depth float64 // a day
	wanted, missing          float64 // by the loads [Wh a day]
	lowest, warmC            float64
	cut                      bool
}

// month leads n draws through a usual time of a month. It adds the mean depth of the days
// and the battery's warmth of each draw to those given, where there are any.
func (l *looker) month(month time.Month, n int, depths, warms []float64) Month {
	start := midMonth(l.at.Year(), month, l.at.Location()).AddDate(0, 0, -monthDays/2)
	s := newStretch(l.climate, start, yearStep, monthDays*int(24*time.Hour/yearStep), l.uses)
	watts := make([]powers, len(s.skies))
	for i := range watts {
		watts[i] = s.watts(i, allPriorities)
	}
	base := warmth(l.site.Place.LatitudeDeg, month)
	weeks := make([]weekOf, n)
	each(n, func(k int) {
		draw := (2*k + 1) * len(l.draws) / (2 * n) // evenly from all, which stand in the order of their faults
		weeks[k] = l.weekOf(draw, s, watts, base+airSpread*chance(chanceWarmth, k).NormFloat64())
	})
	var m Month
	var all, lost float64
	cols := make([][]float64, 5)
	for k := range weeks {
		w := &weeks[k]
		if w.yield < w.need {
			m.Short += 1 / float64(n)
		}
		if w.cut {
			m.Cut += 1 / float64(n)
		}
		all += w.wanted
		lost += w.missing
		for c, x := range []float64{w.sunH, w.yield, w.need, w.depth, w.lowest} {
			cols[c] = append(cols[c], x)
		}
		if depths != nil {
			depths[k] += w.depth
			warms[k] += w.warmC
		}
	}
	if all > 0 {
		m.Missing = lost / all
	}
	m.SunH, m.YieldWh, m.NeedWh, m.Depth, m.Lowest = bandOf(cols[0]), bandOf(cols[1]), bandOf(cols[2]), bandOf(cols[3]), bandOf(cols[4])
	return m
}

// weekOf leads one draw through a stretch, at a mean of the air.
func (l *looker) weekOf(draw int, s *stretch, watts []powers, meanC float64) weekOf {
	const days = monthDays - settling
	const from = settling * int(24*time.Hour/yearStep)
	r := l.runner(draw)
	r.u.SoC, r.u.LatchedOff = yearStart, false
	w := weekOf{lowest: 1, warmC: meanC + r.tank}
	low, high := 1.0, 0.0
	r.lead(s, l.climate.days(draw, s.start, s.number, math.NaN()), meanC, func(i int) powers { return watts[i] }, func(i int) {
		if i < from {
			return
		}
		if i == from {
			r.books = Books{}
		}
		if i%24 == 0 {
			if i > from {
				w.depth += (high - low) / days
			}
			low, high = 1, 0
		}
		low, high, w.lowest = min(low, r.u.SoC), max(high, r.u.SoC), min(w.lowest, r.u.SoC)
		w.sunH += r.u.Irradiance / 1000 / days
		w.wanted += wantedW(&r.u) / days
		w.cut = w.cut || !r.fed()
	})
	w.depth += (high - low) / days
	b := &r.books
	w.yield, w.missing = (b.In+b.Spare)/days, b.Missing/days
	w.need = w.wanted + (b.Own+b.Drain+b.Wires)/days
	return w
}

const chanceLife = chanceLoads + 1

// Life of a battery that is worked every day: cycles to its end by the depth of each, by a
// power law, and a life on the shelf, halved for every 10 K above 20 °C.
//
// Source: the form of Drouilhet and Johnson, "A battery life prediction method for hybrid
// power applications", AIAA 97-0948 (1997), without its exponential; the figures are typical
// of data sheets of batteries for daily use, from memory; the rule of 10 K is IEEE 1188's
// (from memory). Others are a third longer or shorter.
const (
	leadCycles, leadPower = 500, 1.2 // at 0.8 of the capacity
	lfpCycles, lfpPower   = 2500, 1.3
	cycleDepth            = 0.8
	leadShelf, lfpShelf   = 10, 15 // [years]
	halvedBy              = 10.0   // [K]
	lifeSpread            = 0.3
	leastDepth            = 0.01
)

// lifeYears is how long a new battery lasts with one discharge of that depth a day, z
// deviations from the mean.
func lifeYears(chem site.Chemistry, depth, warmC, z float64) float64 {
	cycles, power, shelf := float64(leadCycles), leadPower, float64(leadShelf)
	if !chem.LeadAcid() {
		cycles, power, shelf = lfpCycles, lfpPower, lfpShelf
	}
	perYear := 365 / (cycles * math.Pow(cycleDepth/max(depth, leastDepth), power))
	perYear += math.Exp2(max(0, warmC-20)/halvedBy) / shelf
	return math.Exp(lifeSpread*z) / perYear
}
