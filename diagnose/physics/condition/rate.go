package condition

import (
	"math"
	"time"

	"ampwalk/diagnose/physics/site"
)

// At is [Applicable] with the rates shifted to the site and the visit: by what the
// site's file says of its own rates, by the age of its parts, by the season, and by
// whether it is a round or somebody called (a choice of reading.Visit).
// What is not known, a zero day or "" among it, shifts nothing.
func At(s *site.Site, day time.Time, visit string) []Condition {
	cs := Applicable(s)
	for i, c := range cs {
		if w, ok := file().SoundAt[visit]; ok && c.ID == Sound {
			cs[i].Prior *= w
		}
		cs[i].Prior *= c.byAge(s, day) * c.bySeason(s, day)
		if w, ok := s.Priors[string(c.ID)]; ok {
			cs[i].Prior *= w
		}
	}
	return normalized(cs)
}

// maxByAge bounds what the age alone makes of a rate (judgement).
const maxByAge = 1.5

// byAge is the rate at the age of the part over that at the typical age:
// (age/typical)^power, as of a hazard that rises with age.
func (c Condition) byAge(s *site.Site, day time.Time) float64 {
	typical, installed := file().TypicalYears, s.Array.Installed
	if c.Ages == Battery {
		installed = s.Battery.Installed
		if s.Battery.Chemistry == site.LFP {
			typical = file().TypicalYearsLFP
		}
	}
	since, err := time.Parse("2006-01", installed)
	if c.Ages == NoPart || day.IsZero() || err != nil {
		return 1
	}
	const hoursAYear = 365.25 * 24
	years := max(day.Sub(since).Hours()/hoursAYear, 0)
	return min(max(math.Pow(years/typical, c.Ageing), 1./maxByAge), maxByAge)
}

// Where dry and wet seasons are reckoned with [°]: in the tropics and a little
// beyond, but not at the equator, which has two of each.
const (
	seasonFrom = 5
	seasonTo   = 30
)

// bySeason is the rate in this month over that of the year. The rains follow the
// sun, so dust has gathered longest about March in the north and September in
// the south (judgement; a monsoon or a coast may have it otherwise).
func (c Condition) bySeason(s *site.Site, day time.Time) float64 {
	lat := math.Abs(s.Place.LatitudeDeg)
	if c.Dry <= 0 || day.IsZero() || lat < seasonFrom || lat > seasonTo {
		return 1
	}
	driest := time.March
	if s.Place.LatitudeDeg < 0 {
		driest = time.September
	}
	return math.Pow(c.Dry, math.Cos(2*math.Pi*float64(day.Month()-driest)/12))
}
