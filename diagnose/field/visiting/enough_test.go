package visiting

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

func TestWorth(t *testing.T) {
	open := []reading.Key{reading.ArrayA, reading.BatteryV, reading.ShortA}
	tests := []struct {
		name    string
		leader  float64
		second  float64
		charge  float64 // width of its range
		daylike float64 // of a question about the state
		worth   []bool
	}{
		{"undecided", 0.5, 0.4, 0.9, 0.99, []bool{true, true, true}},
		{"likely", 0.85, 0.1, 0.9, 0.99, []bool{true, true, true}},
		{"sure, the charge open", 0.97, 0.02, 0.9, 0.99, []bool{false, true, false}},
		{"sure of all", 0.97, 0.02, 0.2, 0.99, []bool{false, false, false}},
		{"sure, but not of the light: nothing is switched off for it", 0.97, 0.02, 0.2, 0.6, []bool{true, true, false}},
		{"sure, but a second may be there too", 0.97, 0.3, 0.2, 0.99, []bool{true, true, false}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := &belief.Result{
				Conditions: []belief.Posterior{{ID: condition.ArrayOpen, P: tt.leader}, {ID: condition.Sound, P: tt.second}},
				State:      belief.State{Daylight: tt.daylike, ChargeLevel: belief.Interval{P05: 0, P95: tt.charge}},
			}
			for _, k := range open {
				r.Gains = append(r.Gains, belief.Gain{Reading: k, Bits: 1})
			}
			worth := worthOf(r, procedure.For(site.Demo()))
			for i, k := range open {
				assert.Equal(t, tt.worth[i], worth(k) > 0, k)
			}
			assert.Zero(t, worth(reading.AirC), "it would teach nothing")
		})
	}
}
