package virtualsite

import (
	"math"
	"math/rand/v2"
	"time"

	"ampwalk/diagnose/physics/sun"
)

// Weather is the sky of the day.
type Weather struct {
	Share    float64 // of the clear sky's light, 0 to 1.1
	Restless float64 // of the clouds: standard deviation of the light, relative
	AirC     float64 // at the beginning [°C]
}

// clouds is a smooth, seeded wandering of the light with a mean of about 0 and
// a deviation of about 1: waves of some minutes to an hour, as cumulus passes
// (judgement).
type clouds struct{ phase, minutes [3]float64 }

func newClouds(r *rand.Rand, w Weather) (c clouds) {
	for i, m := range [3]float64{9, 23, 61} {
		c.phase[i] = 2 * math.Pi * r.Float64()
		c.minutes[i] = m * (0.8 + 0.4*r.Float64())
	}
	return c
}

func (c clouds) at(d time.Duration) (x float64) {
	for i, m := range c.minutes {
		x += math.Sin(2*math.Pi*d.Minutes()/m + c.phase[i])
	}
	return x * math.Sqrt(2./3)
}

// twilight is what scatters when the sun is on the horizon [W/m²], gone at
// the end of civil twilight, 6 degrees below (judgement).
const twilight = 6

// clearNow is the light of a clear sky in the array's plane [W/m2].
func (b *Bench) clearNow() float64 {
	p := b.setup.Site.Place
	return sun.ClearPlane(b.now, p.LatitudeDeg, p.LongitudeDeg, p.TiltDeg, p.BearingDeg)
}

// light is what falls on the array's plane now [W/m2].
func (b *Bench) light() float64 {
	p, w := b.setup.Site.Place, b.setup.Weather
	up, _ := sun.Position(b.now, p.LatitudeDeg, p.LongitudeDeg)
	if up < -6 {
		return 0
	}
	dusk := twilight * math.Pow(min(1, (up+6)/6), 2)
	wander := math.Exp(w.Restless * b.clouds.at(b.now.Sub(b.setup.At)))
	return max(dusk*min(1, w.Share+0.3), b.clearNow()*w.Share*wander)
}

// airC follows the sun through the day, 10 K from its coldest to its warmest
// (judgement).
func (b *Bench) airC() float64 {
	hour := func(t time.Time) float64 {
		return float64(t.UTC().Hour()) + float64(t.UTC().Minute())/60 + b.setup.Site.Place.LongitudeDeg/15
	}
	swing := func(t time.Time) float64 { return 5 * math.Cos(2*math.Pi*(hour(t)-14.5)/24) }
	return b.setup.Weather.AirC + swing(b.now) - swing(b.setup.At)
}

// cellC is the modules' temperature by their nominal operating cell
// temperature: (NOCT − 20)/800 K for each W/m² (IEC 61215; from memory).
func (b *Bench) cellC(light float64) float64 {
	return b.airC() + (b.setup.Site.Array.Module.NOCTC-20)/800*light
}
