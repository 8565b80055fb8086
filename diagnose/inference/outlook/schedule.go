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
}

// usesOf are the listed loads, those to be kept longest first.
func usesOf(s *site.Site) []Use {
	var list []Use
	for _, l := range s.Loads {
		evening := l.Used == site.Evening || l.Used == site.AnyTime && isLamp(l.Label)
		list = append(list, Use{l.Label, l.PowerW, l.Priority, l.HoursPerDay, evening})
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
		wh += u.PowerW * u.Hours
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
