package site

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDoubtOf(t *testing.T) {
	tests := []struct {
		path, comment string
		value, want   float64
	}{
		{"array.module.voc_v", "assumed, give or take 3 %; Open-circuit voltage, Voc", 22, 0.66},
		{"array.module.voc_v", "assumed, give or take 3%", 22, 0.66},
		{"array.module.noct_c", "assumed, give or take 3 °C", 46, 3},
		{"array.module.voc_pct_per_c", "assumed, give or take 0.06 %", -0.32, 0.06}, // its unit is a percent
		{"controller.comp_mv_per_c_cell", "assumed, give or take 1 mV; compensation", -4, 1},
		{"controller.own_use_ma", "assumed", 10, 0},
		{"controller.own_use_ma", "own use, give or take 3 mA", 10, 0},
		{"controller.own_use_ma", "assumed, give or take a little", 10, 0},
		{"controller.own_use_ma", "assumed, give or take 1.2.3 mA", 10, 0},
		{"controller.own_use_ma", "assumed, give or take " + strings.Repeat("9", 400) + " mA", 10, 0},
		{"controller.own_use_ma", "assumedly, give or take 3 mA", 10, 0},
	}
	for _, tt := range tests {
		assert.InDelta(t, tt.want, DoubtOf(tt.path, tt.value, tt.comment), 1e-12, tt.comment)
	}
}

func TestDoubtsTravelInTheFile(t *testing.T) {
	assert.Nil(t, Demo().Doubts, "all of it was read")
	text := strings.NewReplacer(
		"capacity_ah = 80 ", "capacity_ah = 80 # assumed, give or take 20 %; ",
		"power_w = 10", "power_w = 10 # assumed, give or take 4 W\n#",
		"voc_v = 22.1 ", "voc_v = 22.1 # assumed, give or take 3 V; ",
	).Replace(string(DemoTOML()))
	s, err := Parse("x", []byte(text))
	require.NoError(t, err)
	assert.Equal(t, Doubts{"battery.capacity_ah": 16, "load.1.power_w": 4, "array.module.voc_v": 3}, s.Doubts)
	assert.Greater(t, s.OpenCircuitColdV(), Demo().OpenCircuitColdV()+3, "the precautions reckon with the highest")
}
