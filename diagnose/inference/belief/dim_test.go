package belief

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// In the dark and in weak light the array's verdict stays open until its current has been
// read against the light; in strong light it does not, nor where a fault shows in any.
func TestTooDim(t *testing.T) {
	tests := []struct {
		name    string
		hour    int
		numbers numbers
		want    bool
	}{
		{"sun, full current", 12, numbers{reading.Irradiance: 800, reading.ModuleC: 50, reading.ArrayV: 13.4, reading.ArrayA: 4.1, reading.BatteryV: 13.2}, false},
		{"overcast, current to match", 12, numbers{reading.Irradiance: 120, reading.ModuleC: 27, reading.ArrayV: 12.9, reading.ArrayA: 0.6, reading.BatteryV: 12.8}, false},
		{"overcast, voltages only", 12, numbers{reading.Irradiance: 120, reading.ModuleC: 27, reading.ArrayV: 12.9, reading.BatteryV: 12.8}, true},
		{"night", 22, numbers{reading.ArrayV: 0, reading.ArrayA: 0, reading.BatteryV: 12.5}, true},
		{"overcast, half the current", 12, numbers{reading.Irradiance: 300, reading.ModuleC: 35, reading.ArrayV: 12.9, reading.ArrayA: 0.75, reading.BatteryV: 12.8, reading.ShortA: 0.8}, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := Infer(Input{Site: site.Demo(), Readings: set(at(tt.hour), tt.numbers)})
			require.NoError(t, err)
			assert.Equal(t, tt.want, r.TooDim(), "%.2f bright, %v", r.State.Bright, r.Conditions[:3])
		})
	}
}
