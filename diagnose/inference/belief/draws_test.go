package belief

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// The draws are the posterior: their means are those of the result, and their faults as
// common as it says.
func TestDrawsAreThePosterior(t *testing.T) {
	set := reading.NewSet()
	set.TakenAt = time.Date(2026, 11, 20, 11, 0, 0, 0, time.FixedZone("", 2*3600))
	set.Numbers[reading.ArrayV], set.Numbers[reading.BatteryV], set.Numbers[reading.ArrayA] = 12.9, 12.7, 0.6
	in := Input{Site: site.Demo(), Readings: set}
	r, err := Infer(in)
	require.NoError(t, err)
	const n = 400
	draws, err := Draws(in, n)
	require.NoError(t, err)
	require.Len(t, draws, n)

	m := newModel(in)
	share := map[string]float64{}
	var charge, spare, hours []weighted
	var o plant.Out
	for i := range draws {
		d := &draws[i]
		m.plant.Solve(&d.Unknowns, &o)
		charge = append(charge, weighted{d.SoC, 1})
		spare = append(spare, weighted{o.SpareW, 1})
		hours = append(hours, weighted{m.plant.HoursToCut(&d.Unknowns, &o), 1})
		for _, id := range d.Conditions {
			share[string(id)] += 1. / n
		}
	}
	assert.InDelta(t, r.State.ChargeLevel.Mean, interval(charge).Mean, 0.03)
	assert.InDelta(t, r.State.ChargeLevel.P05, interval(charge).P05, 0.06)
	assert.InDelta(t, r.State.HoursToCut.Mean, interval(hours).Mean, 0.1*r.State.HoursToCut.Mean)
	assert.InDelta(t, r.State.SpareW.Mean, interval(spare).Mean, 2)
	for _, p := range r.Conditions[1:4] {
		if p.ID != "sound" {
			assert.InDelta(t, p.P, share[string(p.ID)], 0.04, p.ID)
		}
	}

	again, err := Draws(in, n)
	require.NoError(t, err)
	assert.Equal(t, draws, again)
	_, err = Draws(Input{}, n)
	assert.ErrorIs(t, err, ErrNoSite)
}
