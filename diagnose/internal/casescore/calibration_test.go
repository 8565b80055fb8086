package main

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
)

// Worked out by hand: of four sayings of 0.75 three came true, of two of 0.25 none.
func TestCalibrationError(t *testing.T) {
	var c calibration
	for i := range 4 {
		c.add(0.75, i > 0)
	}
	assert.InDelta(t, 0, c.err(), 1e-12)
	c.add(0.25, false)
	c.add(0.25, false)
	assert.InDelta(t, 0.5/6, c.err(), 1e-12)
}

// What comes true as often as is said lies within what chance shows; what is
// said too boldly does not.
func TestCalibrationByChance(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 2))
	var right, bold calibration
	for range 400 {
		p := rng.Float64()
		right.add(p, rng.Float64() < p)
		bold.add(p, rng.Float64() < p*p)
	}
	mean, low, high := right.byChance()
	assert.Less(t, low, mean)
	assert.Less(t, mean, high)
	assert.Less(t, right.err(), high)
	_, _, high = bold.byChance()
	assert.Greater(t, bold.err(), high)
}
