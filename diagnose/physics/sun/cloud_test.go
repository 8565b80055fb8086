package sun

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The diffuse share of a day never rises with its clearness, is all of it under thick cloud,
// and a seventh to a fifth on the clearest days (Erbs, Klein and Duffie 1982, from memory).
func TestDiffuse(t *testing.T) {
	for _, short := range []bool{true, false} {
		last := 1.0
		for k := 0.0; k < 0.72; k += 0.01 {
			d := Diffuse(k, short)
			assert.LessOrEqual(t, d, last+0.01, "%g", k)
			assert.True(t, d > 0.1 && d <= 1.01, "%g: %g", k, d)
			last = d
		}
		assert.InDelta(t, 1, Diffuse(0, short), 1e-9)
		assert.InDelta(t, 0.16, Diffuse(0.8, short), 0.02)
	}
	assert.InDelta(t, 0.60, Diffuse(0.5, false), 0.02)
}

// Outside the air: about 37.5 MJ/m2 a day at the equator at the equinox, 47 at the south pole in
// its summer, which is nearer to the sun (FAO-56, annex 2; from memory).
func TestFullDay(t *testing.T) {
	assert.InDelta(t, 37.5, 3.6*FullDay(time.Date(2025, 3, 20, 0, 0, 0, 0, time.UTC), 0, 0), 1.5)
	assert.InDelta(t, 47, 3.6*FullDay(time.Date(2025, 12, 21, 0, 0, 0, 0, time.UTC), -90, 0), 2)
	assert.Zero(t, FullDay(time.Date(2025, 12, 21, 0, 0, 0, 0, time.UTC), 80, 0))
}

// Anywhere and on any plane: no light at night, a finite amount by day, and on level ground
// exactly what the clearness says.
func TestSkyAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, lat, lon := anywhere(t)
		tilt, bearing := rapid.Float64Range(0, 90).Draw(t, "tilt"), rapid.Float64Range(0, 360).Draw(t, "bearing")
		clear := rapid.Float64Range(0, 1.2).Draw(t, "clear")
		day := DayOf(at, lat, lon)
		s := SkyAt(at, day, lat, lon, tilt, bearing)
		g := s.Plane(clear)
		require.True(t, g >= 0 && g < 2500, "%v", g)
		if elevation, _ := Position(at, lat, lon); elevation <= 0 {
			require.Zero(t, g)
		}
		level := SkyAt(at, day, lat, lon, 0, 180)
		require.InDelta(t, clear*level.ClearGHI, level.Plane(clear), 1e-6*(1+level.ClearGHI))
	})
}

// On a clear day in the tropics the plane gets within a tenth of what the clear sky's own
// split into beam and diffuse gives.
func TestClearSkyUnderCloudsOfNone(t *testing.T) {
	noonish := time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	s := SkyAt(noonish, DayOf(noonish, -12.6, 34.1), -12.6, 34.1, 15, 0)
	assert.InEpsilon(t, ClearPlane(noonish, -12.6, 34.1, 15, 0), s.Plane(1), 0.1)
}
