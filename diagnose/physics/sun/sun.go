// Package sun tells where the sun is and how much light a clear sky sends on a
// tilted plane, and what is left of it on a day that is not clear.
//
// Start with [Position], [ClearPlane], [ClearDay] and [SkyAt]. Angles are degrees,
// latitude north and longitude east positive; azimuth and bearing are compass
// bearings, 0 north and 90 east. Light is W/m².
//
// Limits: the position is good to 0.01° between 1950 and 2050, without
// refraction. The clear sky is that of sea level with an ordinary haze; at
// height, and in very dry or very dusty air, it is 10 % and more off. The
// horizon is flat and free.
package sun

import (
	"math"
	"time"
)

const (
	degrees = 180 / math.Pi
	radians = math.Pi / 180

	secondsPerDay = 86400
	j2000Unix     = 946728000 // 2000-01-01 12:00 UTC

	// deltaTSeconds is terrestrial time minus universal time. It was 63 s in 2000
	// and 69 s in 2020 (from memory); ten seconds move the sun by 0.0001°.
	deltaTSeconds = 69

	// parallaxDeg is the sun's horizontal parallax at 1 au, 8.794″
	// (Meeus, Astronomical Algorithms, chapter 40).
	parallaxDeg = 8.794 / 3600
)

// Position is the sun's elevation above the horizon, negative below it and
// without refraction, and its azimuth from 0 to 360.
func Position(t time.Time, latDeg, lonDeg float64) (elevationDeg, azimuthDeg float64) {
	elevation, azimuth, _ := position(t, latDeg, lonDeg)
	return elevation, azimuth
}

// position also gives the distance to the sun [au].
func position(t time.Time, latDeg, lonDeg float64) (elevationDeg, azimuthDeg, distanceAU float64) {
	s := sunAt(t)
	// Meeus, chapter 13, with azimuth counted from north.
	sinLat, cosLat := math.Sincos(latDeg * radians)
	sinH, cosH := math.Sincos(s.hourAngleDeg(t, lonDeg) * radians)
	sinDec, cosDec := math.Sincos(s.declinationDeg * radians)
	sinElevation := sinLat*sinDec + cosLat*cosDec*cosH
	east := -cosDec * sinH
	north := cosLat*sinDec - sinLat*cosDec*cosH
	// atan2 keeps its precision overhead, where asin loses half the digits.
	elevation := math.Atan2(sinElevation, math.Hypot(east, north)) * degrees
	elevation -= parallaxDeg / s.distanceAU * math.Cos(elevation*radians)
	return elevation, wrap(math.Atan2(east, north) * degrees), s.distanceAU
}

// A place is where the sun stands among the stars, seen from the Earth's centre.
type place struct {
	lambdaDeg         float64 // apparent longitude
	rightAscensionDeg float64 // apparent, 0 to 360
	declinationDeg    float64 // apparent
	distanceAU        float64
	equinoxesDeg      float64 // equation of the equinoxes: apparent minus mean sidereal time
}

func sunAt(t time.Time) place {
	return almanac((daysSinceJ2000(t) + deltaTSeconds/secondsPerDay) / 36525)
}

// almanac is the sun's apparent place T Julian centuries of terrestrial time
// after J2000, to 0.01°.
//
// Source: Meeus, Astronomical Algorithms, 2nd ed., chapter 25 (low accuracy)
// and chapter 22 for the obliquity and the nutation's two main terms.
func almanac(T float64) place {
	meanLongitude := 280.46646 + T*(36000.76983+T*0.0003032)
	meanAnomaly := (357.52911 + T*(35999.05029-T*0.0001537)) * radians
	eccentricity := 0.016708634 - T*(0.000042037+T*0.0000001267)
	centre := (1.914602-T*(0.004817+T*0.000014))*math.Sin(meanAnomaly) +
		(0.019993-T*0.000101)*math.Sin(2*meanAnomaly) +
		0.000289*math.Sin(3*meanAnomaly)
	sinNode, cosNode := math.Sincos((125.04 - 1934.136*T) * radians)

	lambda := meanLongitude + centre - 0.00569 - 0.00478*sinNode
	obliquity := 23.4392911 - T*(0.0130042+T*(0.00000016-T*0.000000504)) + 0.00256*cosNode
	sinLambda, cosLambda := math.Sincos(lambda * radians)
	sinObliquity, cosObliquity := math.Sincos(obliquity * radians)
	return place{
		lambdaDeg:         wrap(lambda),
		rightAscensionDeg: wrap(math.Atan2(cosObliquity*sinLambda, cosLambda) * degrees),
		declinationDeg:    math.Asin(sinObliquity*sinLambda) * degrees,
		distanceAU: 1.000001018 * (1 - eccentricity*eccentricity) /
			(1 + eccentricity*math.Cos(meanAnomaly+centre*radians)),
		equinoxesDeg: -0.00478 * sinNode * cosObliquity,
	}
}

// hourAngleDeg is how far the sun is west of the meridian, -180 to 180.
//
// Source: Meeus, chapter 12, formula 12.4.
func (p place) hourAngleDeg(t time.Time, lonDeg float64) float64 {
	d := daysSinceJ2000(t)
	T := d / 36525
	sidereal := 280.46061837 + 360.98564736629*d + T*T*(0.000387933-T/38710000) + p.equinoxesDeg
	return wrap(sidereal+lonDeg-p.rightAscensionDeg+180) - 180
}

func daysSinceJ2000(t time.Time) float64 {
	return (float64(t.Unix()-j2000Unix) + float64(t.Nanosecond())/1e9) / secondsPerDay
}

// wrap brings an angle to 0 up to, not including, 360.
func wrap(deg float64) float64 {
	if deg = math.Mod(deg, 360); deg < 0 {
		deg += 360
	}
	if deg >= 360 { // a tiny negative angle rounds up
		return 0
	}
	return deg
}
