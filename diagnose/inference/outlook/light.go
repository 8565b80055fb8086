package outlook

import (
	"math"
	"math/rand/v2"
	"time"

	"ampwalk/diagnose/physics/site"
	"ampwalk/diagnose/physics/sun"
)

// Clearness is the light on level ground over that of a clear sky at sea level.
const (
	leastClear, mostClear = 0.05, 1.12 // of a day; high and dry places reach 1.1
	clearMean             = 0.75       // of a month, where nothing is known of the place
	clearSpread           = 0.13
	leastMean, mostMean   = 0.35, 1.02
	monthLikeLast         = 0.7  // correlation of one month's mean with the next (judgement)
	yearSpread            = 0.07 // of a month from year to year, where sun_hours are known (judgement)
	dayLikeLast           = 0.29 // correlation of a day with the day before
	dayLikeNow            = 0.7  // of the rest of the day with the light found (judgement)
)

// A climate is what light the months bring to a site.
type climate struct {
	place site.Place
	known bool        // by sun_hours
	mean  [12]float64 // clearness
}

func climateOf(p site.Place) *climate {
	c := &climate{place: p, known: len(p.SunHours) == 12}
	for m := range c.mean {
		c.mean[m] = clearMean
		if c.known {
			c.mean[m] = c.meanFor(time.Month(m+1), p.SunHours[m])
		}
	}
	return c
}

// meanFor is the mean clearness under which the plane gets so many peak sun hours a day.
func (c *climate) meanFor(month time.Month, hours float64) float64 {
	skies := c.skies(midMonth(2025, month, zone(c.place)), time.Hour, 24)
	const grid = 15
	var plane [grid + 1]float64 // of a day [kWh/m2], at even steps of clearness
	for k := range plane {
		for i := range skies {
			plane[k] += skies[i].Plane(leastClear+(mostClear-leastClear)*float64(k)/grid) / 1000
		}
	}
	if plane[grid] == 0 {
		return clearMean // no sun: nothing to tell
	}
	expected := func(mean float64) (sum float64) {
		const quantiles = 20
		g := gamma(mean)
		for q := range quantiles {
			x := (quantile(g, (float64(q)+0.5)/quantiles) - leastClear) / (mostClear - leastClear) * grid
			k := min(int(x), grid-1)
			sum += (plane[k] + (plane[k+1]-plane[k])*(x-float64(k))) / quantiles
		}
		return sum
	}
	lo, hi := leastMean/2, mostMean
	for range 30 {
		if mid := (lo + hi) / 2; expected(mid) < hours {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// skies are those of n steps from start, at the middle of each.
func (c *climate) skies(start time.Time, step time.Duration, n int) []sun.Sky {
	p := c.place
	list := make([]sun.Sky, n)
	var day sun.Day
	var of int
	for i := range list {
		at := start.Add(time.Duration(i)*step + step/2)
		if d := at.YearDay(); d != of {
			day, of = sun.DayOf(at, p.LatitudeDeg, p.LongitudeDeg), d
		}
		list[i] = sun.SkyAt(at, day, p.LatitudeDeg, p.LongitudeDeg, p.TiltDeg, p.BearingDeg)
	}
	return list
}

// gamma is the rate of the exponential law of daily clearness between its ends whose mean
// is this.
//
// Source: Bendt, Collares-Pereira, Rabl, Solar Energy 27 (1981) 1-5 (from memory).
func gamma(mean float64) float64 {
	lo, hi := -40.0, 60.0
	for range 50 {
		g := (lo + hi) / 2
		if clearMeanOf(g) < mean {
			lo = g
		} else {
			hi = g
		}
	}
	return (lo + hi) / 2
}

func clearMeanOf(g float64) float64 {
	d := mostClear - leastClear
	if math.Abs(g*d) < 1e-4 {
		return (leastClear + mostClear) / 2
	}
	return mostClear - 1/g + d/math.Expm1(g*d)
}

// quantile is the clearness below which a share p of the days lies.
func quantile(g, p float64) float64 {
	d := mostClear - leastClear
	if math.Abs(g*d) < 1e-4 {
		return leastClear + d*p
	}
	return leastClear + math.Log1p(p*math.Expm1(g*d))/g
}

// Streams of chance: each purpose has its own, so that none moves another.
const (
	chanceMonth = iota + 1
	chanceDay
	chanceWarmth
	chanceLoads
)

func chance(purpose, draw int) *rand.Rand {
	return rand.New(rand.NewPCG(uint64(purpose), uint64(draw)))
}

// months are the mean clearness of the twelve months as one draw has them.
func (c *climate) months(draw int) (means [12]float64) {
	rng := chance(chanceMonth, draw)
	z := rng.NormFloat64()
	for m := range means {
		if c.known {
			means[m] = c.mean[m] * math.Exp(yearSpread*z)
		} else {
			means[m] = c.mean[m] + clearSpread*z
		}
		means[m] = min(max(means[m], leastMean/2), mostMean)
		z = monthLikeLast*z + math.Sqrt(1-monthLikeLast*monthLikeLast)*rng.NormFloat64()
	}
	return means
}

// days are the clearness of n days from start as one draw has them. Found is the share of
// a clear sky's light that was found on the first day, NaN where there was none to find;
// the rest of that day leans on it.
func (c *climate) days(draw int, start time.Time, n int, found float64) []float64 {
	rng := chance(chanceDay, draw)
	means := c.months(draw)
	z := rng.NormFloat64()
	list := make([]float64, n)
	month, g := time.Month(0), 0.0
	for d := range list {
		if m := start.AddDate(0, 0, d).Month(); m != month {
			month, g = m, gamma(means[m-1])
		}
		if d == 0 && !math.IsNaN(found) {
			z = dayLikeNow*score(g, found) + math.Sqrt(1-dayLikeNow*dayLikeNow)*z
		}
		list[d] = quantile(g, 0.5*math.Erfc(-z/math.Sqrt2))
		z = dayLikeLast*z + math.Sqrt(1-dayLikeLast*dayLikeLast)*rng.NormFloat64()
	}
	return list
}

// score is the standard normal score of a clearness under the law of rate g.
func score(g, clear float64) float64 {
	x := min(max(clear, leastClear), mostClear) - leastClear
	p := x / (mostClear - leastClear)
	if d := g * (mostClear - leastClear); math.Abs(d) >= 1e-4 {
		p = math.Expm1(g*x) / math.Expm1(d)
	}
	return -math.Sqrt2 * math.Erfcinv(2*min(max(p, 0.005), 0.995))
}

// clearOf is the clearness under which the plane gets g [W/m2]; NaN where a clear sky would
// bring too little to tell.
func clearOf(s sun.Sky, g float64) float64 {
	const enough = 100 // [W/m2]
	if s.Plane(1) < enough {
		return math.NaN()
	}
	lo, hi := 0.0, 1.4
	for range 30 {
		if mid := (lo + hi) / 2; s.Plane(mid) < g {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}

// Warmth of the air [°C].
const (
	airSwing     = 5  // of a day about its mean
	warmestH     = 15 // by the sun
	airSpread    = 4
	tropicsC     = 26 // mean of the year up to tropicsDeg
	tropicsDeg   = 20
	coolerPerDeg = 0.75
	swingPerDeg  = 0.28 // of the year, by latitude
)

// warmth is the mean of the air in a month by the latitude alone (judgement).
func warmth(latDeg float64, month time.Month) float64 {
	away := math.Abs(latDeg)
	mean := tropicsC - coolerPerDeg*max(0, away-tropicsDeg)
	season := math.Cos(2 * math.Pi * (float64(month) - 7.2) / 12)
	return mean + swingPerDeg*latDeg*season
}

// ofDay is how far the air is from the mean of its day, at an hour by the sun.
func ofDay(hour float64) float64 {
	return airSwing * math.Cos(2*math.Pi*(hour-warmestH)/24)
}

// zone is the site's own time.
func zone(p site.Place) *time.Location {
	return time.FixedZone("", int(math.Round(p.UTCOffsetH*3600)))
}

func midMonth(year int, month time.Month, in *time.Location) time.Time {
	return time.Date(year, month, 15, 0, 0, 0, 0, in)
}

// sunHour is the hour of the day by the sun, 0 to 24.
func sunHour(t time.Time, lonDeg float64) float64 {
	t = t.UTC()
	return math.Mod(float64(t.Hour())+float64(t.Minute())/60+lonDeg/15+48, 24)
}
