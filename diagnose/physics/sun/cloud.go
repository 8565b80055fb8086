package sun

import (
	"math"
	"time"
)

// Extraterrestrial is the light outside the air on level ground [W/m²]; 0 below the
// horizon.
func Extraterrestrial(elevationDeg, distanceAU float64) float64 {
	return solarConstant / (distanceAU * distanceAU) * math.Max(0, math.Sin(elevationDeg*radians))
}

// Diffuse is the share of a day's light on level ground that comes from all of the sky, not
// straight from the sun, by the day's clearness: that light over the light outside the air.
// A day is short below 10.85 hours from sunrise to sunset.
//
// Source: Erbs, Klein and Duffie, Solar Energy 28 (1982) 293-302, of days (from memory).
func Diffuse(clearness float64, short bool) float64 {
	k := max(clearness, 0)
	switch {
	case short && k < 0.715:
		return 1 + k*(-0.2727+k*(2.4495+k*(-11.9514+k*9.3879)))
	case short:
		return 0.143
	case k < 0.722:
		return 1 + k*(0.2832+k*(-2.5557+k*0.8448))
	}
	return 0.175
}

// shortDay is a day's length from which [Diffuse] takes it for long: a sunset at an hour
// angle of 81.4° [h].
const shortDay = 2 * 81.4 / 15

// A Day is what a clear sky would make of one day at a place.
type Day struct {
	clearest float64 // light of a clear sky on level ground over that outside the air
	short    bool
}

// DayOf is date's day.
func DayOf(date time.Time, latDeg, lonDeg float64) Day {
	const steps = 48
	start := noon(date, lonDeg).Add(-12*time.Hour + 12*time.Hour/steps)
	var clear, outside float64
	up := 0
	for i := range steps {
		elevation, _, distance := position(start.Add(time.Duration(i)*24*time.Hour/steps), latDeg, lonDeg)
		if elevation > 0 {
			up++
		}
		clear += ClearSky(elevation, distance, Linke).GHI
		outside += Extraterrestrial(elevation, distance)
	}
	d := Day{short: float64(up)*24/steps < shortDay}
	if outside > 0 {
		d.clearest = clear / outside
	}
	return d
}

// leastSine is the lowest sun, as the sine of its elevation, whose beam is told from the
// rest of the sky: below it small figures would be divided by each other.
const leastSine = 0.03

// A Sky is where the sun stands at one moment, seen from one plane, and what a clear sky
// would send then.
type Sky struct {
	ClearGHI     float64 // on level ground [W/m²]
	day          Day
	sine         float64 // of the elevation
	cosIncidence float64
	tiltDeg      float64
}

// SkyAt is the sky of a moment of the day, for a plane.
func SkyAt(t time.Time, day Day, latDeg, lonDeg, tiltDeg, bearingDeg float64) Sky {
	elevation, azimuth, distance := position(t, latDeg, lonDeg)
	if elevation <= 0 {
		return Sky{}
	}
	return Sky{
		ClearGHI: ClearSky(elevation, distance, Linke).GHI, day: day,
		sine: math.Sin(elevation * radians), cosIncidence: Incidence(elevation, azimuth, tiltDeg, bearingDeg), tiltDeg: tiltDeg,
	}
}

// Under is the light of a day on which so much comes of what a clear sky would send on
// level ground.
func (s Sky) Under(clear float64) Light {
	ghi := clear * s.ClearGHI
	if ghi <= 0 {
		return Light{}
	}
	dhi := ghi
	if s.sine >= leastSine {
		dhi *= Diffuse(clear*s.day.clearest, s.day.short)
	}
	return Light{GHI: ghi, DHI: dhi, DNI: (ghi - dhi) / max(s.sine, leastSine)}
}

// Plane is the light in the plane [W/m²] on such a day.
func (s Sky) Plane(clear float64) float64 {
	return s.Under(clear).OnPlane(s.cosIncidence, s.tiltDeg, Albedo)
}

// FullDay is the energy that reaches level ground outside the air from midnight to midnight
// of the sun's time [kWh/m²].
func FullDay(date time.Time, latDeg, lonDeg float64) float64 {
	const step = 10 * time.Minute
	var sum float64
	start := noon(date, lonDeg).Add(-12*time.Hour + step/2)
	for i := range int(24 * time.Hour / step) {
		elevation, _, distance := position(start.Add(time.Duration(i)*step), latDeg, lonDeg)
		sum += Extraterrestrial(elevation, distance)
	}
	return sum * step.Hours() / 1000
}

// Noon is when the sun passes the meridian, nearest to twelve o'clock of date's day.
func Noon(date time.Time, lonDeg float64) time.Time { return noon(date, lonDeg) }
