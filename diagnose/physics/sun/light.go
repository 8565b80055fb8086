package sun

import (
	"math"
	"time"
)

const (
	// solarConstant is the light outside the air at 1 au [W/m²], as the
	// Ineichen-Perez model was published with.
	solarConstant = 1364

	// Linke is the haze that [ClearPlane] takes: Linke turbidity at air mass 2.
	// About 2 is clean cold air, 3 ordinary, 5 and more humid or dusty tropics
	// (from memory).
	Linke = 3

	// Albedo is the share of the light that ordinary ground throws back
	// (common practice).
	Albedo = 0.2
)

// A Light is what a sky sends: on the level ground, straight from the sun on a
// plane facing it, and from the rest of the sky on the level ground [W/m²].
type Light struct{ GHI, DNI, DHI float64 }

// ClearGHI is the light of a clear sky on level ground from the sun's
// elevation alone [W/m²]; 0 below the horizon.
//
// Source: Haurwitz, Journal of Meteorology 2 (1945) and 3 (1946), as given in
// Reno, Hansen and Stein, SAND2012-2389.
func ClearGHI(elevationDeg float64) float64 {
	cosZenith := math.Sin(elevationDeg * radians)
	if cosZenith <= 0 {
		return 0
	}
	return 1098 * cosZenith * math.Exp(-0.059/cosZenith)
}

// ClearSky is the light of a clear sky at sea level for a Linke turbidity; zero
// below the horizon.
//
// Source: Ineichen and Perez, Solar Energy 73 (2002) 151-157.
func ClearSky(elevationDeg, distanceAU, linke float64) Light {
	if !(elevationDeg > 0) {
		return Light{}
	}
	return clearSky(math.Sin(elevationDeg*radians), airMass(elevationDeg), linke, solarConstant/(distanceAU*distanceAU))
}

// clearSky has the model's factors for the height above the sea at their values
// for none.
func clearSky(cosZenith, airMass, linke, extraterrestrial float64) Light {
	ghi := 0.868 * extraterrestrial * cosZenith * math.Exp(-0.0387*airMass*linke)
	beam := 0.827 * extraterrestrial * math.Exp(-0.09*airMass*(linke-1))
	// The beam can never bring more than the sky as a whole leaves for it.
	most := ghi * (1 - (0.1-0.2*math.Exp(-linke))/0.982) / cosZenith
	dni := max(0, min(beam, most))
	return Light{GHI: ghi, DNI: dni, DHI: max(0, ghi-dni*cosZenith)}
}

// airMass is the length of the sunbeam's way through the air against the way
// straight down, for elevations from 0 to 90.
//
// Source: Kasten and Young, Applied Optics 28 (1989) 4735-4738.
func airMass(elevationDeg float64) float64 {
	return 1 / (math.Sin(elevationDeg*radians) + 0.50572*math.Pow(elevationDeg+6.07995, -1.6364))
}

// Incidence is the cosine of the angle between the sun and the normal of a
// plane; negative when the sun is behind it.
//
// Source: Duffie and Beckman, Solar Engineering of Thermal Processes, section 1.6.
func Incidence(elevationDeg, azimuthDeg, tiltDeg, bearingDeg float64) float64 {
	sinE, cosE := math.Sincos(elevationDeg * radians)
	sinT, cosT := math.Sincos(tiltDeg * radians)
	return sinE*cosT + cosE*sinT*math.Cos((azimuthDeg-bearingDeg)*radians)
}

// OnPlane is the light on a plane [W/m²], the sky equally bright all over and
// the ground a plain grey.
//
// Source: Liu and Jordan, Solar Energy 7 (1963) 53-74.
func (l Light) OnPlane(cosIncidence, tiltDeg, albedo float64) float64 {
	cosT := math.Cos(tiltDeg * radians)
	return l.DNI*max(0, cosIncidence) + l.DHI*(1+cosT)/2 + albedo*l.GHI*(1-cosT)/2
}

// ClearPlane is the light of a clear sky on a plane tilted from horizontal and
// facing a bearing [W/m²]; 0 at night.
func ClearPlane(t time.Time, latDeg, lonDeg, tiltDeg, bearingDeg float64) float64 {
	elevation, azimuth, distance := position(t, latDeg, lonDeg)
	if elevation <= 0 {
		return 0
	}
	sky := ClearSky(elevation, distance, Linke)
	return sky.OnPlane(Incidence(elevation, azimuth, tiltDeg, bearingDeg), tiltDeg, Albedo)
}
