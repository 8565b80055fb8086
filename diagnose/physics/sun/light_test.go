package sun

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
)

// Haurwitz's formula. Figures with seven decimals are those of the pvlib
// library's tests (test_clearsky.py); the others were computed from the formula
// of SAND2012-2389.
func TestClearGHI(t *testing.T) {
	tests := []struct{ elevation, ghi, within float64 }{
		{-20, 0, 0}, {0, 0, 0},
		{5, 48.6298688, 1e-6}, {10, 135.7417481, 1e-6}, {30, 487.8941329, 1e-6},
		{50, 778.7666893, 1e-6}, {90, 1035.0920325, 1e-6},
		{15, 226.255, 1e-3}, {20, 316.036, 1e-3}, {40, 643.883, 1e-3},
		{45, 714.250, 1e-3}, {60, 888.271, 1e-3}, {75, 997.743, 1e-3},
	}
	for _, tt := range tests {
		assert.InDelta(t, tt.ghi, ClearGHI(tt.elevation), tt.within, "elevation %g", tt.elevation)
	}
}

// The Ineichen-Perez model at Linke 3 and sea level as in the pvlib library's
// tests (test_clearsky.py), which give the air mass too.
func TestClearSkyModel(t *testing.T) {
	tests := []struct{ zenith, airMass, ghi, dni, dhi float64 }{
		{46.0467599, 1.32355476, 704.6968, 888.9015, 87.7360},
		{10.56413562, .93527685, 1044.1231, 953.2493, 107.0311},
		{72.41687, 3.01614, 251.9943, 655.4493, 53.9901},
	}
	for _, tt := range tests {
		got := clearSky(math.Cos(tt.zenith*radians), tt.airMass, 3, solarConstant)
		assert.InDelta(t, tt.ghi, got.GHI, 0.01)
		assert.InDelta(t, tt.dni, got.DNI, 0.01)
		assert.InDelta(t, tt.dhi, got.DHI, 0.01)
	}
}

// Two independent clear-sky models agree within 15 % of each other where the
// sun is well up, and both give about 1000 W/m² overhead.
func TestClearSkyAgreesWithHaurwitz(t *testing.T) {
	for elevation := 15.0; elevation <= 90; elevation += 5 {
		sky := ClearSky(elevation, 1, Linke)
		assert.InEpsilon(t, ClearGHI(elevation), sky.GHI, 0.15, "elevation %g", elevation)
	}
}

// Kasten and Young (1989) print 1 overhead and, on the horizon, 38 (from memory).
func TestAirMass(t *testing.T) {
	assert.InDelta(t, 1, airMass(90), 1e-3)
	assert.InDelta(t, 2, airMass(30), 0.01) // 1/sin, which holds well above 30°
	assert.InDelta(t, 38, airMass(0), 0.2)
}

// Liu and Jordan's isotropic sky. The sky and ground parts alone are figures of
// the pvlib library's tests (test_irradiance.py); the sum was computed from the
// formula.
func TestOnPlane(t *testing.T) {
	tests := []struct {
		name         string
		light        Light
		cosIncidence float64
		tilt, albedo float64
		want, within float64
	}{
		{"sky", Light{DHI: 100}, 1, 40, 0.25, 88.30222215594891, 1e-9},
		{"ground", Light{GHI: 900}, 1, 40, 0.25, 26.32000014911496, 1e-9},
		{"all", Light{700, 800, 100}, math.Cos(20 * radians), 30, 0.2, 854.4336, 1e-4},
		{"sun behind the plane", Light{DNI: 800}, -0.5, 90, 0.2, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.want, tt.light.OnPlane(tt.cosIncidence, tt.tilt, tt.albedo), tt.within)
		})
	}
}

func TestIncidence(t *testing.T) {
	assert.InDelta(t, 1, Incidence(50, 180, 40, 180), 1e-12)                  // facing the sun
	assert.InDelta(t, math.Sin(33*radians), Incidence(33, 77, 0, 180), 1e-12) // level
	assert.InDelta(t, -math.Sqrt(0.5), Incidence(45, 0, 90, 180), 1e-12)      // wall turned away
}

func TestClearPlaneAnywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, lat, lon := anywhere(t)
		tilt := rapid.Float64Range(0, 90).Draw(t, "tilt")
		bearing := rapid.Float64Range(0, 360).Draw(t, "bearing")
		g := ClearPlane(at, lat, lon, tilt, bearing)
		require.True(t, g >= 0 && g < solarConstant, "%v W/m2", g)
		if elevation, _ := Position(at, lat, lon); elevation <= 0 {
			require.Zero(t, g)
		} else {
			require.Positive(t, g)
		}
	})
}

// More haze never brings more light from the sun's own direction, nor more in all.
func TestClearSkyFallsWithHaze(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		elevation := rapid.Float64Range(-10, 90).Draw(t, "elevation")
		linke := rapid.Float64Range(2, 7).Draw(t, "linke")
		clear, hazy := ClearSky(elevation, 1, linke), ClearSky(elevation, 1, linke+0.5)
		require.LessOrEqual(t, hazy.GHI, clear.GHI)
		require.LessOrEqual(t, hazy.DNI, clear.DNI)
		require.GreaterOrEqual(t, hazy.DHI, 0.0)
		// What falls on level ground is the beam and the rest of the sky.
		require.InDelta(t, clear.GHI, clear.DNI*math.Sin(max(0, elevation)*radians)+clear.DHI, 1e-9)
	})
}

func TestClearDay(t *testing.T) {
	zone := time.FixedZone("", 2*3600)
	day := func(month time.Month, lat, tilt, bearing float64) float64 {
		return ClearDay(time.Date(2026, month, 20, 9, 0, 0, 0, zone), lat, 33.77, tilt, bearing)
	}
	// Clear days in the tropics bring 6 to 8 peak sun hours (common practice).
	assert.InDelta(t, 7, day(time.March, -14, 0, 0), 1)
	// South of the equator an array facing north gains in June and loses in December.
	assert.Greater(t, day(time.June, -14, 20, 0), day(time.June, -14, 20, 180))
	assert.Less(t, day(time.December, -14, 20, 0), day(time.December, -14, 20, 180))
	// On level ground the bearing does not matter.
	assert.InDelta(t, day(time.June, -14, 0, 0), day(time.June, -14, 0, 123), 1e-9)
	// Polar night and midnight sun.
	assert.Zero(t, day(time.December, 80, 30, 180))
	assert.Greater(t, day(time.June, 80, 30, 180), 6.0)
	// The clock's hour within the day does not matter, nor the zone it is given in.
	a := ClearDay(time.Date(2026, 3, 20, 0, 5, 0, 0, zone), -14, 33.77, 15, 0)
	b := ClearDay(time.Date(2026, 3, 20, 23, 55, 0, 0, zone), -14, 33.77, 15, 0)
	assert.InDelta(t, a, b, 1e-12)
}

// The ten-minute steps against steps of one minute.
func TestClearDayIsFineEnough(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at, lat, lon := anywhere(t)
		tilt := rapid.Float64Range(0, 90).Draw(t, "tilt")
		bearing := rapid.Float64Range(0, 360).Draw(t, "bearing")
		var want float64
		start := noon(at, lon).Add(-12*time.Hour + 30*time.Second)
		for i := range 24 * 60 {
			want += ClearPlane(start.Add(time.Duration(i)*time.Minute), lat, lon, tilt, bearing) / 60 / 1000
		}
		require.InDelta(t, want, ClearDay(at, lat, lon, tilt, bearing), 0.005)
	})
}

func BenchmarkClearPlane(b *testing.B) {
	at := time.Date(2026, 11, 20, 8, 30, 0, 0, time.UTC)
	for b.Loop() {
		ClearPlane(at, -13.98, 33.77, 15, 0)
	}
}

func BenchmarkClearDay(b *testing.B) {
	at := time.Date(2026, 11, 20, 8, 30, 0, 0, time.UTC)
	for b.Loop() {
		ClearDay(at, -13.98, 33.77, 15, 0)
	}
}
