package reading_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// What a 12 V clinic with two 50 W modules shows in the situations of the
// trade (common practice) is taken without a question; a slip of the decimal
// point, of the unit or of the probe is questioned; what no instrument there
// could show is refused.
func TestLimits(t *testing.T) {
	const taken, questioned, refused = "taken", "questioned", "refused"
	tests := []struct {
		key  reading.Key
		v    float64
		want string
	}{
		{reading.ArrayV, 13.6, taken},  // charging: the battery's voltage and a little
		{reading.ArrayV, 19.8, taken},  // held back: some volts above the battery
		{reading.ArrayV, 0, taken},     // dark, or open
		{reading.ArrayV, -21.5, taken}, // leads exchanged
		{reading.OpenV, 24.5, taken},   // a frosty morning
		{reading.OpenV, 44.2, questioned},
		{reading.OpenV, 221, refused},
		{reading.ModuleV, -20, questioned}, // read the right way round it is never negative
		{reading.PostV, 12.65, taken},
		{reading.PostV, 0.02, taken},  // an lfp pack that has switched itself off
		{reading.PostV, 15.9, taken},  // a controller stuck on
		{reading.PostV, 1.27, taken},  // a slip that only the diagnosis can see
		{reading.PostV, 127, refused}, // more than anything here can give
		{reading.PostV, 27.0, questioned},
		{reading.BatteryV, 21.0, taken}, // battery off, array on
		{reading.BatteryV, 900, refused},
		{reading.BlockV, 12.6, taken},
		{reading.BlockV, 25.2, questioned},
		{reading.ArrayA, 5.9, taken},
		{reading.ArrayA, -0.3, taken}, // leaking back at night
		{reading.ArrayA, -5.9, questioned},
		{reading.ArrayA, 47, questioned},  // 4.7 without its point
		{reading.ArrayA, 4700, refused},   // milliamperes
		{reading.BatteryA, -2.8, taken},   // every load on
		{reading.LoadA, 4.2, taken},       // half as much again as listed
		{reading.LoadA, -2.8, questioned}, // clamp turned round
		{reading.StandbyA, 0.008, taken},  // the controller's own use
		{reading.StandbyA, 0.3, taken},    // a drain
		{reading.StandbyA, 8, questioned}, // milliamperes
		{reading.StepA, 6.5, taken},       // a known load
		{reading.StepA, -0.02, taken},     // nothing flows, and the clamp's zero is a little off
		{reading.StepA, -6.5, questioned}, // it cannot feed the battery
		{reading.Irradiance, 1130, taken}, // edge of a cloud
		{reading.Irradiance, 0, taken},    // night
		{reading.Irradiance, -3, questioned},
		{reading.Irradiance, 8100, refused},
		{reading.ModuleC, 68, taken},
		{reading.ModuleC, 110, questioned},
		{reading.AirC, 86, refused},        // in degrees Fahrenheit
		{reading.BatteryC, 77, questioned}, // in degrees Fahrenheit
		{reading.Minutes, 60, taken},
		{reading.Minutes, -1, refused},
		{reading.Gravity, 1.265, taken},
		{reading.Gravity, 1.06, taken}, // empty
		{reading.Gravity, 1.4, questioned},
		{reading.Gravity, 1265, refused},
		{reading.PostV, math.NaN(), refused},
		{reading.PostV, math.Inf(1), refused},
	}
	for _, tt := range tests {
		got := taken
		if err := reading.Plausible(tt.key, tt.v, site.Demo()); err != nil {
			got = questioned
			var limit *reading.LimitError
			require.ErrorAs(t, err, &limit)
			assert.Equal(t, tt.key, limit.Key)
			assert.False(t, limit.Limits.Contains(tt.v))
			assert.False(t, limit.Refuse)
		}
		if reading.Possible(tt.key, tt.v, site.Demo()) != nil {
			assert.Equal(t, questioned, got, "what is refused is questioned too: %s %v", tt.key, tt.v)
			got = refused
		}
		assert.Equal(t, tt.want, got, "%s %v", tt.key, tt.v)
	}
}

// Every number and every list has limits, the outer ones around the usual ones.
func TestLimitsForEveryReading(t *testing.T) {
	for _, spec := range reading.Specs {
		if spec.Form != reading.Number && spec.Form != reading.List {
			continue
		}
		for _, v := range []float64{-1e5, 1e5} {
			var usual, outer *reading.LimitError
			require.ErrorAs(t, reading.Plausible(spec.Key, v, site.Demo()), &usual, spec.Key)
			require.ErrorAs(t, reading.Possible(spec.Key, v, site.Demo()), &outer, spec.Key)
			assert.Less(t, usual.Limits.Min, usual.Limits.Max, spec.Key)
			assert.LessOrEqual(t, outer.Limits.Min, usual.Limits.Min, spec.Key)
			assert.GreaterOrEqual(t, outer.Limits.Max, usual.Limits.Max, spec.Key)
		}
	}
}

func TestLimitErrorText(t *testing.T) {
	err := reading.Plausible(reading.PostV, 27, site.Demo())
	assert.EqualError(t, err, "27 V is outside the usual range of this site, -0.5 to 16.8 V")
	err = reading.Possible(reading.PostV, 900, site.Demo())
	assert.EqualError(t, err, "900 V cannot be shown by an instrument at this site; expected -82 to 82 V")
	err = reading.Plausible(reading.Gravity, 1.4, site.Demo())
	assert.EqualError(t, err, "1.4 is outside the usual range of this site, 1.04 to 1.32")
}
