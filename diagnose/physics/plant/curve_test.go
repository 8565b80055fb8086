package plant_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// At standard test conditions, behind a cable and joints of next to no
// resistance, the array's curve passes the nameplate's three points (IEC 61215
// names them), one string times two.
func TestArrayCurvePassesTheNameplate(t *testing.T) {
	s := site.Demo()
	s.Array.CableM = 1e-3
	u := plant.Typical()
	u.Irradiance, u.CellC, u.ArrayJoint = 1000, 25, 0
	p, m := plant.New(s, 60), s.Array.Module
	amps := make([]float64, 3)
	p.ArrayCurve(&u, []float64{0, m.VmpV, m.VocV}, amps)
	assert.InDelta(t, 2*m.IscA, amps[0], 0.02)
	assert.InDelta(t, 2*m.ImpA, amps[1], 0.02)
	assert.InDelta(t, 0, amps[2], 0.02)
	assert.InDelta(t, m.VocV, p.ArrayOpenV(&u), 0.02)
}

// A battery that is charged directly stands on the array's curve.
func TestArrayCurveHoldsTheOperatingPoint(t *testing.T) {
	s := site.Demo()
	u := plant.Typical()
	u.SoC = 0.4
	p := plant.New(s, 60)
	var o plant.Out
	p.Solve(&u, &o)
	require.True(t, o.Charging)
	require.False(t, o.Regulating)
	amps := make([]float64, 1)
	p.ArrayCurve(&u, []float64{o.Value[plant.ArrayV]}, amps)
	assert.InDelta(t, o.Value[plant.ArrayA], amps[0], 1e-3)
}
