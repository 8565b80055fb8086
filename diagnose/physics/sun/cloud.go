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

// Diffuse is the share of the light on level ground that comes from all of the sky, not
// straight from the sun, by the clearness: that light over the light outside the air.
//
// Source: Erbs, Klein and Duffie, Solar Energy 28 (1982) 293-302, hourly (from memory).
func Diffuse(clearness float64) float64 {
	k := clearness
	switch {
	case k <= 0.22:
		return 1 - 0.09*max(k, 0)
	case k <= 0.8:
		return 0.9511 + k*(-0.1604+k*(4.388+k*(-16.638+k*12.336)))
	}
	return 0.165
}

// leastSine is the lowest sun, as the sine of its elevation, whose beam is told from the
// rest of the sky: below it small figures would be divided by each other.
const leastSine = 0.03

// A Sky is where the sun stands at one moment, seen from one plane, and what a clear sky
// would send then.
type Sky struct {
	ClearGHI     float64 // [W/m²]
	Outside      float64 // on level ground outside the air [W/m²]
	sine         float64 // of the elevation
	cosIncidence float64
	tiltDeg      float64
}

// SkyAt is the sky of a moment for a plane.
func SkyAt(t time.Time, latDeg, lonDeg, tiltDeg, bearingDeg float64) Sky {
	elevation, azimuth, distance := position(t, latDeg, lonDeg)
	if elevation <= 0 {
		return Sky{}
	}
	return Sky{
		ClearGHI: ClearSky(elevation, distance, Linke).GHI, Outside: Extraterrestrial(elevation, distance),
		sine: math.Sin(elevation * radians), cosIncidence: Incidence(elevation, azimuth, tiltDeg, bearingDeg), tiltDeg: tiltDeg,
	}
}

// Under is the light on level ground, and what is diffuse of it, while so much comes of
// what a clear sky would send.
func (s Sky) Under(clear float64) Light {
	ghi := clear * s.ClearGHI
	if s.Outside <= 0 || ghi <= 0 {
		return Light{}
	}
	dhi := ghi * Diffuse(ghi/s.Outside)
	if s.sine < leastSine {
		dhi = ghi
	}
	return Light{GHI: ghi, DHI: dhi, DNI: (ghi - dhi) / max(s.sine, leastSine)}
}

// Plane is the light in the plane [W/m²] while so much comes of what a clear sky would
// send on level ground.
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
