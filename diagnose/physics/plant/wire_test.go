package plant_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/plant"
)

// IEC 60228, plain copper of class 5 at 20 °C, as three reproductions of it
// read; and the factors R20/RT for the temperature, within 0.003. (They are
// 1/(1 + 0.004·(T − 20)); at 90 °C they leave annealed copper by 0.0034.)
func TestCableOhm(t *testing.T) {
	for mm2, perKm := range map[float64]float64{
		1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780, 35: 0.554,
	} {
		assert.InDelta(t, 2*perKm, plant.CableOhm(1000, mm2, 20), 1e-9, "%g mm2", mm2)
	}
	for c, factor := range map[float64]float64{
		5: 1.064, 25: 0.980, 30: 0.962, 40: 0.926, 50: 0.893, 60: 0.862, 70: 0.833, 75: 0.820,
	} {
		assert.InDelta(t, factor, plant.CableOhm(1, 4, 20)/plant.CableOhm(1, 4, c), 0.003, "%g °C", c)
	}
	// Class 5 at 70 °C with annealed copper's own coefficient, computed.
	assert.InDelta(t, 5.9227, plant.CableOhm(500, 4, 70), 1e-4)
	assert.InDelta(t, 3.9484, plant.CableOhm(500, 6, 70), 1e-4)
	// American gauges: plain copper of 17.241 ohm·mm²/km, from a university's
	// table, is up to 15 % better than the standard's worst flexible conductor.
	for mm2, perKm := range map[float64]float64{0.823: 20.95, 2.081: 8.285, 3.309: 5.211, 5.261: 3.277, 13.302: 1.296, 33.631: 0.5127} {
		ratio := plant.CableOhm(500, mm2, 20) / perKm
		assert.Greater(t, ratio, 1.0, "%g mm2", mm2)
		assert.Less(t, ratio, 1.17, "%g mm2", mm2)
	}
	assert.Zero(t, plant.CableOhm(10, 0, 20))
}

// 10 A over 10 m at 20 °C; plain arithmetic on the standard's figures.
func TestVoltageDrop(t *testing.T) {
	for mm2, drop := range map[float64]float64{1.5: 2.660, 2.5: 1.596, 4: 0.990, 6: 0.660, 10: 0.382, 16: 0.242} {
		assert.InDelta(t, drop, 10*plant.CableOhm(10, mm2, 20), 1e-9, "%g mm2", mm2)
	}
	// The informative formula of IEC 60364-5-52, Annex G, with its 0.0225
	// ohm·mm²/m of warm copper: 1.125 V over 4 mm². That is 1.25 times copper at
	// 20 °C; here conductors of 4 mm² reach it at 55 °C.
	assert.InDelta(t, 1.125, 10*plant.CableOhm(10, 4, 54.7), 0.001)
}

// Thicker is never worse, and no size between two of the standard's falls out
// of line.
func TestCableOhmFalls(t *testing.T) {
	last := plant.CableOhm(1, 0.2, 20)
	for mm2 := 0.21; mm2 < 60; mm2 *= 1.01 {
		r := plant.CableOhm(1, mm2, 20)
		assert.Less(t, r, last, "%g mm2", mm2)
		last = r
	}
}
