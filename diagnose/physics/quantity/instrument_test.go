package quantity_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/quantity"
)

func TestInstrumentLimit(t *testing.T) {
	tests := []struct {
		name    string
		in      quantity.Instrument
		v       float64
		limit   float64
		u       float64 // standard uncertainty; 0: the source gives none
		limitTo float64 // as many places as the source prints
	}{
		// A university physics page on the accuracy of digital meters.
		{"32.00 V, 2.5 % + 3", quantity.Instrument{Percent: 2.5, Digits: 3, Resolution: 0.01}, 32, 0.83, 0, 1e-9},
		{"0.09 V, 2.5 % + 3", quantity.Instrument{Percent: 2.5, Digits: 3, Resolution: 0.01}, 0.09, 0.03225, 0, 1e-9},
		{"1.755 V, 0.5 % + 1", quantity.Instrument{Percent: 0.5, Digits: 1, Resolution: 0.001}, 1.755, 0.0098, 0, 5e-5},
		{"100.0 V, 1 % + 2", quantity.Instrument{Percent: 1, Digits: 2, Resolution: 0.1}, 100, 1.2, 0, 1e-9},
		// JCGM 100:2008, 4.3.7 example 2 (from memory): 14e-6 of the reading and
		// 2e-6 of the range of 1 V; u = 8.7 µV as printed, 8.660 µV computed.
		{"GUM voltmeter", quantity.Instrument{Percent: 14e-4, Digits: 1, Resolution: 2e-6}, 0.928571, 15.0e-6, 8.660e-6, 1e-9},
		// Plain arithmetic.
		{"12.65 V, 0.5 % + 2", quantity.Instrument{Percent: 0.5, Digits: 2, Resolution: 0.01}, 12.65, 0.08325, 0.04806, 1e-9},
		{"5.23 A, 2 % + 5", quantity.Instrument{Percent: 2, Digits: 5, Resolution: 0.01}, 5.23, 0.1546, 0.08926, 1e-9},
		{"-5.23 A, the same", quantity.Instrument{Percent: 2, Digits: 5, Resolution: 0.01}, -5.23, 0.1546, 0.08926, 1e-9},
		{"21.6 V, 0.5 % + 2", quantity.Instrument{Percent: 0.5, Digits: 2, Resolution: 0.01}, 21.6, 0.128, 0.0739, 1e-9},
		{"a thermometer, 2 °C", quantity.Instrument{PlusMinus: 2}, 47, 2, 1.1547, 1e-9},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.InDelta(t, tt.limit, tt.in.Limit(tt.v), tt.limitTo)
			if tt.u > 0 {
				assert.InEpsilon(t, tt.u, tt.in.StandardUncertainty(tt.v), 1e-3)
			}
		})
	}
}
