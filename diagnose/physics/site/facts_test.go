package site_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/site"
)

// Two 36-cell modules in series stay below 60 V on the coldest morning, two of
// 72 cells do not; Voc(STC)·(1+|β|·35 K), plain arithmetic on the figures of a
// safety rule: touchable is what stays below 60 V DC (IEC 60335 definition of
// safety extra-low voltage).
func TestOpenCircuitColdV(t *testing.T) {
	tests := []struct {
		name   string
		series int
		voc    float64
		cold   float64
		safe   bool
	}{
		{"one of 36 cells", 1, 22.1, 24.5752, true},
		{"two of 36 cells", 2, 22.3, 49.5952, true},
		{"three of 36 cells", 3, 22.3, 74.3928, false},
		{"two of 72 cells", 2, 45.5, 101.192, false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := site.Site{Array: site.Array{Series: tt.series, Strings: 3, Module: site.Module{VocV: tt.voc, VocPctPerC: -0.32}}}
			assert.InDelta(t, tt.cold, s.OpenCircuitColdV(), 1e-9)
			assert.Equal(t, tt.safe, s.OpenCircuitColdV() < 60)
			assert.InDelta(t, float64(tt.series)*tt.voc, s.Array.OpenCircuitV(25), 1e-12)
		})
	}
}

func TestFacts(t *testing.T) {
	s := site.Demo()
	assert.InDelta(t, 5.94, s.Array.ShortCircuitA(), 1e-12)
	assert.InDelta(t, 100, s.Array.PowerW(), 1e-12)
	assert.InDelta(t, 34, s.AllListedW(), 1e-12)
	assert.InDelta(t, 24, s.ListedW([]string{"ward lamps", "radio", "no such load"}), 1e-12)
	assert.Zero(t, s.ListedW(nil))
	_, ok := s.Lamp("no such lamp")
	assert.False(t, ok)
}
