package belief

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
	"ampwalk/diagnose/physics/sun"
)

const lightKnots = 41

// minLight is added to light where its logarithm is taken [W/m2].
const minLight = 1e-3

// lightPrior tables the logarithm of the quantiles of the light in the array's
// plane at even steps of z from −4 to 4. By the clock most of it lies under the clear sky;
// a part is left to a clock set wrong.
func lightPrior(s *site.Site, set *reading.Set) (knots [lightKnots]float64, clear float64) {
	clear = math.NaN()
	if !set.TakenAt.IsZero() {
		clear = sun.ClearPlane(set.TakenAt, s.Place.LatitudeDeg, s.Place.LongitudeDeg, s.Place.TiltDeg, s.Place.BearingDeg)
	}
	elevation := math.NaN()
	if !math.IsNaN(clear) {
		elevation, _ = sun.Position(set.TakenAt, s.Place.LatitudeDeg, s.Place.LongitudeDeg)
	}
	// Stars and a moon, sometimes a lamp or a torch near by.
	night := func(g float64) float64 { return 1 - 0.8*fastmath.Exp(-g/0.003) - 0.2*fastmath.Exp(-g/0.5) }
	dusk := func(g float64) float64 { return 1 - fastmath.Exp(-g/4) }
	cdf := func(g float64) float64 {
		anywhen := 0.25*night(g) + 0.1*dusk(g) + 0.65*min(g/1150, 1)
		var clock float64
		switch {
		case math.IsNaN(clear):
			return anywhen
		case elevation < -6: // past civil twilight
			clock = night(g)
		case clear < 10:
			clock = dusk(g)
		default: // from thick cloud to a cloud's bright edge
			clock = min(g/(1.15*clear+10), 1)
		}
		return (1-clockWrong)*clock + clockWrong*anywhen
	}
	for k := range knots {
		p := phi(-4 + 8*float64(k)/(lightKnots-1))
		lo, hi := 0.0, 1600.0
		for range 50 {
			mid := (lo + hi) / 2
			if cdf(mid) < p {
				lo = mid
			} else {
				hi = mid
			}
		}
		knots[k] = fastmath.Log(hi + minLight)
	}
	return knots, clear
}

// lightAt interpolates the logarithm, since dusk spans decades.
func (m *model) lightAt(z float64) float64 {
	x := (min(max(z, -4), 4) + 4) / 8 * (lightKnots - 1)
	k := min(int(x), lightKnots-2)
	return fastmath.Exp(m.light[k]+(m.light[k+1]-m.light[k])*(x-float64(k))) - minLight
}

// lightZ is the coordinate of light g [W/m2].
func (m *model) lightZ(g float64) float64 {
	ln := fastmath.Log(max(g, 0) + minLight)
	k := 0
	for k < lightKnots-2 && m.light[k+1] < ln {
		k++
	}
	x := float64(k)
	if d := m.light[k+1] - m.light[k]; d > 0 {
		x += min(max((ln-m.light[k])/d, 0), 1)
	}
	return min(max(x/(lightKnots-1)*8-4, -3), 3)
}
