package visiting_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What each picture shows at 12 V, by common practice: a charging array stands a little
// above the battery, one that is held back well above it while the battery stands at its
// set-point; an open or unlit array shows next to nothing, a reversed one a negative
// voltage; a battery that is cut off is below 12 V.
func TestStandardPicturesAreCommonPractice(t *testing.T) {
	for _, nominal := range visiting.SystemVolts {
		k := nominal / 12
		s := visiting.Scaled(site.Demo(), nominal)
		pictures := visiting.Standards(s)
		require.Len(t, pictures, 7)
		for _, p := range pictures {
			v := func(i plant.Index) float64 { return p.Out.Value[i] }
			switch p.ID {
			case "charging":
				assert.InDelta(t, 0.3, (v(plant.ArrayV)-v(plant.BatteryV))/k, 0.3, "%s at %g V", p.ID, nominal)
				assert.InDelta(t, 13.1, v(plant.BatteryV)/k, 0.4)
				assert.Greater(t, v(plant.BatteryA), 1.0)
			case "holding-back":
				assert.Greater(t, (v(plant.ArrayV)-v(plant.BatteryV))/k, 1.0)
				assert.InDelta(t, 14.4, v(plant.BatteryV)/k, 0.1)
				assert.True(t, p.Out.Regulating)
			case "array-open", "dark":
				assert.Less(t, v(plant.ArrayV)/k, 1.0)
				assert.Less(t, v(plant.BatteryA), 0.0)
			case "reversed":
				assert.Less(t, v(plant.ArrayV)/k, -0.5)
			case "cut-off":
				assert.Less(t, v(plant.BatteryV)/k, 12.0)
				assert.True(t, p.Out.LoadsCut)
				assert.InDelta(t, 0, v(plant.LoadA), 0.01)
			case "no-battery":
				assert.InDelta(t, 12.2, v(plant.PostV)/k, 0.4)
				assert.Greater(t, (v(plant.PostV)-v(plant.BatteryV))/k, 1.0)
			default:
				t.Errorf("no figures for %s", p.ID)
			}
		}
	}
}

// The belief, given the readings of a picture, says what the picture is called.
func TestBeliefKnowsTheStandardPictures(t *testing.T) {
	is := map[string]func(r *belief.Result) float64{
		"charging":     func(r *belief.Result) float64 { return min(r.State.Charging, 1-r.State.Regulating) },
		"holding-back": func(r *belief.Result) float64 { return r.State.Regulating },
		"array-open":   func(r *belief.Result) float64 { return r.Of(condition.ArrayOpen) + r.Of(condition.ArrayShort) }, // alike from the controller
		"reversed":     func(r *belief.Result) float64 { return r.Of(condition.ArrayReversed) },
		"dark":         func(r *belief.Result) float64 { return 1 - r.State.Daylight },
		"cut-off":      func(r *belief.Result) float64 { return r.State.LoadsCut },
		"no-battery":   func(r *belief.Result) float64 { return r.Of(condition.BatteryOpen) },
	}
	for _, p := range visiting.Standards(site.Demo()) {
		set := reading.NewSet()
		for _, k := range []reading.Key{
			reading.ArrayV, reading.ArrayA, reading.BatteryV, reading.PostV, reading.BatteryA, reading.LoadV, reading.LoadA, reading.Irradiance,
		} {
			i, ok := plant.IndexOf(k)
			require.True(t, ok)
			set.Numbers[k] = p.Out.Value[i]
		}
		r, err := belief.Infer(belief.Input{Site: p.Site, Readings: set})
		require.NoError(t, err)
		assert.Greater(t, is[p.ID](r), 0.8, p.ID)
		if p.ID == "array-open" {
			assert.Equal(t, condition.ArrayOpen, r.Leader().ID)
		}
		told := visiting.Together(p.Site, r, nil, set, reading.BatteryV)
		assert.Empty(t, told.Not, "no reading of the picture contradicts the others: %s", told.Text)
		assert.Contains(t, map[string][]string{
			"charging": {"charging", "charging-well"}, "holding-back": {"held", "held-full"}, "array-open": {"array-open"},
			"reversed": {"reversed"}, "dark": {"dark"}, "cut-off": {"cut-off"}, "no-battery": {"no-battery"},
		}[p.ID], told.ID, told.Text)
	}
}
