package outlook

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/physics/site"
	"ampwalk/diagnose/physics/sun"
)

// A Use is when a load is taken to be used on a day.
type Use struct {
	Label    string  `json:"label"`
	PowerW   float64 `json:"power_w"`
	Priority int     `json:"priority"`
	Hours    float64 `json:"hours"`   // a day
	Evening  bool    `json:"evening"` // from sunset on; else about noon

	from  site.Source
	draws float64 // mean of what it draws while it is on, of its power
	dc    float64 // power at the battery's side for each of its own
}

// A load that cycles runs for a part of the time that it is on, as a fridge's compressor
// does, and one that draws now more, now less takes about half of its label (judgement).
const cyclingDraws, unsteadyDraws = 0.4, 0.55

// needW is what it takes from the battery's side while it is used, on the mean [W].
func (u Use) needW() float64 { return u.PowerW * u.draws * u.dc }

// powers are mean powers of uses at one time, by where they take them from [W].
type powers struct {
	main, beside, inverter float64
	dc                     float64 // all of them, at the battery's side
}

// plus adds a use that is on for a share of the time.
func (p powers) plus(u Use, share float64) powers {
	w := u.PowerW * u.draws * share
	switch u.from {
	case site.FromInverter:
		p.inverter += w
	case site.FromBattery:
		p.beside += w
	default:
		p.main += w
	}
	p.dc += w * u.dc
	return p
}

// usesOf are the listed loads, those to be kept longest first.
func usesOf(s *site.Site) []Use {
	var list []Use
	for _, l := range s.Loads {
		evening := l.Used == site.Evening || l.Used == site.AnyTime && isLamp(l.Label)
		u := Use{Label: l.Label, PowerW: l.PowerW, Priority: l.Priority, Hours: l.HoursPerDay, Evening: evening, from: s.SourceOf(l), draws: 1, dc: 1}
		switch l.Kind {
		case site.Cycling:
			u.draws = cyclingDraws
		case site.Unsteady:
			u.draws = unsteadyDraws
		}
		switch {
		case u.from == site.FromInverter:
			u.dc = 1 / s.Inverter.Efficiency
		case u.from == s.MainSource():
			u.from = ""
		}
		list = append(list, u)
	}
	slices.SortStableFunc(list, func(a, b Use) int { return cmp.Compare(a.Priority, b.Priority) })
	return list
}

// isLamp guesses from the name, by the words of the file of words.
func isLamp(label string) bool {
	for _, word := range strings.FieldsFunc(strings.ToLower(label), func(r rune) bool { return r == ' ' || r == '-' || r == ',' }) {
		if slices.Contains(words().Lamps, word) {
			return true
		}
	}
	return false
}

// A daylight is when the sun rises and sets; by the sun's time 6 and 18 where it does not.
type daylight struct{ rise, noon, set time.Time }

func daylightOf(date time.Time, p site.Place) daylight {
	noon := sun.Noon(date, p.LongitudeDeg)
	rise, set, ok := sun.Daylight(date, p.LatitudeDeg, p.LongitudeDeg)
	if !ok {
		rise, set = noon.Add(-6*time.Hour), noon.Add(6*time.Hour)
	}
	in := date.Location()
	return daylight{rise.In(in), noon.In(in), set.In(in)}
}

// begins is when the use begins on that day.
func (u Use) begins(d daylight) time.Time {
	if u.Evening {
		return d.set
	}
	return d.noon.Add(-hours(u.Hours / 2))
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// share is how much of the time from a to b the use is on, 0 to 1. Days are the one in
// which that lies and those before and after it, since an evening lasts into the next day.
func (u Use) share(a, b time.Time, days []daylight) float64 {
	var on time.Duration
	for _, d := range days {
		from := u.begins(d)
		to := from.Add(hours(u.Hours))
		if from.Before(a) {
			from = a
		}
		if to.After(b) {
			to = b
		}
		if to.After(from) {
			on += to.Sub(from)
		}
	}
	return min(1, float64(on)/float64(b.Sub(a)))
}

// needWh is what the uses take in a day [Wh].
func needWh(uses []Use) (wh float64) {
	for _, u := range uses {
		wh += u.needW() * u.Hours
	}
	return wh
}

// daysFrom are n days from the one before start on.
func daysFrom(start time.Time, n int, p site.Place) []daylight {
	var list []daylight
	for d := range n {
		y, m, day := start.AddDate(0, 0, d-1).Date()
		list = append(list, daylightOf(time.Date(y, m, day, 12, 0, 0, 0, start.Location()), p))
	}
	return list
}
