package main

import (
	"math"
	"time"

	sunpkg "ampwalk/diagnose/physics/sun"
)

// The moments of a visit.
const (
	sun     = "sun"      // 250 W/m2 or more
	weak    = "weak"     // 30 to 250
	dusk    = "dusk"     // 1 to 30
	night   = "night"    // below
	rundown = "run-down" // loads cut for low voltage
)

const (
	sunFrom      = 250.0
	weakFrom     = 30.0
	duskFrom     = 1.0
	daylightFrom = 10.0 // by the file formats
)

// Choices of the sky, as in the readings file.
var skies = []string{"dark", "overcast", "hazy", "clear"}

// A moment is when the visit is and what the sky gives.
type moment struct {
	kind                  string
	at                    time.Time
	sky                   int
	light, lightIsolated  float64 // in the array's plane [W/m2]
	airC, batteryC, cellC float64
	cellCIsolated         float64
}

// drawMoment looks for a date and hour whose light is of the kind.
func (d dice) drawMoment(s *siteFile, kind string) moment {
	light := kind
	if kind == rundown {
		light = pick(d, sun, weak, weak, dusk, night, night)
	}
	p := s.Place
	zone := time.FixedZone("", int(p.UTCOffset*3600))
	m := moment{kind: kind, airC: d.between(3, 38)}
	for {
		m.at = time.Date(2026, 1, 1, 0, 0, 0, 0, zone).AddDate(0, 0, d.IntN(365)).Add(time.Duration(d.IntN(288)) * 5 * time.Minute)
		clear := sunpkg.ClearPlane(m.at, p.Latitude, p.Longitude, p.Tilt, p.Bearing)
		height, _ := sunpkg.Position(m.at, p.Latitude, p.Longitude)
		m.sky = pick(d, 1, 1, 2, 3, 3, 3)
		share := []float64{0, d.log(0.04, 0.45), d.between(0.4, 0.88), d.between(0.85, 1.08)}[m.sky]
		m.light = clear * share
		if height < 0 { // twilight and night
			m.light = d.darkLight(height)
		}
		if height < -5 {
			m.sky = 0
		}
		if d.fits(light, m.light, m.at.Hour()) {
			break
		}
	}
	m.lightIsolated = m.light * d.between(0.93, 1.07)
	m.airC = clamp(m.airC+3*math.Sin(float64(m.at.Hour()-9)/12*math.Pi), 0, 42)
	m.batteryC = m.airC + d.between(-6, 4)
	// A free-standing module at its NOCT, in more or less wind (common practice).
	rise := (s.Array.Module.NOCT - 20) / 800 * d.between(0.7, 1.15)
	m.cellC = m.airC + rise*m.light + d.between(-1, 1)
	m.cellCIsolated = m.cellC + rise*(m.lightIsolated-m.light)
	return m
}

// darkLight is what an array gets when the sun is down: the last of dusk, the moon, now
// and then a lamp (a full moon gives about 0.002 W/m2, a street lamp twenty times that; judgement).
func (d dice) darkLight(height float64) float64 {
	glow := 8 * math.Exp(height/1.2)
	if d.chance(0.2) {
		return max(glow, d.log(0.003, 0.05))
	}
	return max(glow, d.log(1e-5, 3e-3))
}

func (d dice) fits(kind string, light float64, hour int) bool {
	if hour < 5 || hour > 22 {
		return false // nobody visits
	}
	switch kind {
	case sun:
		return light >= sunFrom
	case weak:
		return light >= weakFrom && light < sunFrom
	case dusk:
		return light >= duskFrom && light < weakFrom
	default:
		return light < duskFrom
	}
}
