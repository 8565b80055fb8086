package visiting_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

func TestPictureInWords(t *testing.T) {
	c := &belief.Curve{BestV: 16, BestA: 4.6, AtV: 13.1, AtA: 4.8}
	assert.Equal(t, "X: the array works now at 13.10 V and 4.80 A. M: with nothing wrong it could give most at 16.00 V and 4.60 A, 74 W.",
		visiting.PointSentence(c)) // 16 V × 4.6 A = 73.6 W
	r := &belief.Result{Shown: map[reading.Key][]belief.Showing{reading.ArrayV: {{ID: condition.Sound, Range: belief.Range{Lo: 12.6, Hi: 20.9}}}}}
	assert.Equal(t, []string{condition.Of(condition.Sound).Title + ": 12.60 to 20.90 V"}, visiting.ShownSentences(r, reading.ArrayV))
	assert.Empty(t, visiting.ShownSentences(r, reading.ArrayA))
}

// A condition that leads alone is shown beside a healthy plant; it needs no other
// where nothing is wrong, nor where several lead.
func TestShowingsCompareWithASoundPlant(t *testing.T) {
	open, sound := belief.Showing{ID: condition.ArrayOpen, Range: belief.Range{Lo: 0, Hi: 0.1}}, belief.Range{Lo: 12.6, Hi: 20.9}
	r := &belief.Result{Shown: map[reading.Key][]belief.Showing{reading.ArrayV: {open}}, Normal: map[reading.Key]belief.Range{reading.ArrayV: sound}}
	assert.Equal(t, []belief.Showing{open, {ID: condition.Sound, Range: sound}}, visiting.Showings(r, reading.ArrayV))
	r.Normal[reading.ArrayV] = belief.Range{Lo: math.NaN(), Hi: math.NaN()}
	assert.Len(t, visiting.Showings(r, reading.ArrayV), 1, "nobody knows")
	r.Normal[reading.ArrayV] = sound
	r.Shown[reading.ArrayV] = append(r.Shown[reading.ArrayV], belief.Showing{ID: condition.StringOpen})
	assert.Len(t, visiting.Showings(r, reading.ArrayV), 2)
	r.Shown[reading.ArrayV] = []belief.Showing{{ID: condition.Sound, Range: sound}}
	assert.Len(t, visiting.Showings(r, reading.ArrayV), 1)
}

// A what-if reaches the inference as a reading and leaves the input as it was.
func TestWhatIf(t *testing.T) {
	x := 18.9
	in := belief.Input{Site: site.Demo(), Readings: reading.NewSet()}
	var asked belief.Input
	_, err := visiting.WhatIf(in, visiting.Answer{Kind: visiting.Took, Reading: reading.ArrayV, Number: &x}, func(in belief.Input) (*belief.Result, error) {
		asked = in
		return &belief.Result{}, nil
	})
	require.NoError(t, err)
	assert.InDelta(t, x, asked.Readings.Numbers[reading.ArrayV], 0)
	assert.False(t, in.Readings.Has(reading.ArrayV))
}
