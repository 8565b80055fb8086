package sun

import "time"

// standardAltitudeDeg is the true elevation of the sun's centre when its upper
// edge is seen on the horizon: mean refraction and half the sun's width
// (Meeus, chapter 15).
const standardAltitudeDeg = -0.833

// Daylight is sunrise and sunset of date's day, taken from its own location's
// calendar, to about a minute. Where the sun stays up or down all day, ok is
// false.
func Daylight(date time.Time, latDeg, lonDeg float64) (rise, set time.Time, ok bool) {
	mid := noon(date, lonDeg)
	rise, ok = crossing(mid.Add(-12*time.Hour), mid, latDeg, lonDeg)
	if !ok {
		return time.Time{}, time.Time{}, false
	}
	set, ok = crossing(mid.Add(12*time.Hour), mid, latDeg, lonDeg)
	if !ok {
		return time.Time{}, time.Time{}, false
	}
	return rise, set, true
}

// ClearDay is the energy that a clear sky sends on the plane from midnight to
// midnight of the sun's time [kWh/m²]: the most peak sun hours that date's day
// can have there. A mean over all weather is lower.
func ClearDay(date time.Time, latDeg, lonDeg, tiltDeg, bearingDeg float64) float64 {
	// The middle of ten-minute steps: to 0.1 % of the sum over one-minute steps.
	const step = 10 * time.Minute
	var sum float64 // W/m²
	start := noon(date, lonDeg).Add(-12*time.Hour + step/2)
	for i := range int(24 * time.Hour / step) {
		sum += ClearPlane(start.Add(time.Duration(i)*step), latDeg, lonDeg, tiltDeg, bearingDeg)
	}
	return sum * step.Hours() / 1000
}

// noon is when the sun passes the meridian, nearest to twelve o'clock of
// date's day in its own location.
func noon(date time.Time, lonDeg float64) time.Time {
	year, month, day := date.Date()
	t := time.Date(year, month, day, 12, 0, 0, 0, date.Location())
	for range 2 { // the second pass takes up the sun's own motion
		east := -sunAt(t).hourAngleDeg(t, lonDeg)
		t = t.Add(time.Duration(east / 360 * float64(24*time.Hour)))
	}
	return t
}

// crossing halves the time between midnight and noon, in either order, until
// the standard altitude is met to a second.
func crossing(midnight, noon time.Time, latDeg, lonDeg float64) (time.Time, bool) {
	up := func(t time.Time) bool {
		elevation, _ := Position(t, latDeg, lonDeg)
		return elevation > standardAltitudeDeg
	}
	if up(midnight) || !up(noon) {
		return time.Time{}, false
	}
	for noon.Sub(midnight).Abs() > time.Second {
		mid := midnight.Add(noon.Sub(midnight) / 2)
		if up(mid) {
			noon = mid
		} else {
			midnight = mid
		}
	}
	return noon, true
}
