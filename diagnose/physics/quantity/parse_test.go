package quantity_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/physics/quantity"
)

func TestParse(t *testing.T) {
	tests := []struct {
		text, unit string
		want       float64
	}{
		{"13.1", quantity.Volt, 13.1},
		{"13,1", quantity.Volt, 13.1},
		{"13.1 V", quantity.Volt, 13.1},
		{"13.1v", quantity.Volt, 13.1},
		{"13.1 volts", quantity.Volt, 13.1},
		{"13100 mV", quantity.Volt, 13.1},
		{"0,0131 kV", quantity.Volt, 13.1},
		{"12,345", quantity.Volt, 12.345}, // a meter with three decimals
		{"-0.2", quantity.Volt, -0.2},
		{"\u22120,2 V", quantity.Volt, -0.2},
		{"+13.1", quantity.Volt, 13.1},
		{"-0", quantity.Volt, 0},
		{".47A", quantity.Ampere, 0.47},
		{",47 A", quantity.Ampere, 0.47},
		{"470 mA", quantity.Ampere, 0.47},
		{"470mA", quantity.Ampere, 0.47},
		{"350 uA", quantity.Ampere, 0.00035},
		{"350 \u00b5A", quantity.Ampere, 0.00035},
		{"350 \u03bcA", quantity.Ampere, 0.00035},
		{"\t25 °C\n", quantity.Celsius, 25},
		{"25C", quantity.Celsius, 25},
		{"25\u00a0°C", quantity.Celsius, 25},
		{"-3,5 °C", quantity.Celsius, -3.5},
		{"810", quantity.Irradiance, 810},
		{"810 W/m2", quantity.Irradiance, 810},
		{"810 W/m²", quantity.Irradiance, 810},
		{"0.81 kW/m2", quantity.Irradiance, 810},
		{"1,050 kW/m2", quantity.Irradiance, 1050}, // kilowatts have decimals
		{"0,3 kW", quantity.Watt, 300},
		{"50 mohm", quantity.Ohm, 0.05},
		{"2 MΩ", quantity.Ohm, 2e6},
		{"60", quantity.Minute, 60},
		{"1,5 h", quantity.Minute, 90},
		{"1.265", quantity.Number, 1.265},
		{"1,265", quantity.Number, 1.265},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			got, err := quantity.Parse(tt.text, tt.unit)
			require.NoError(t, err)
			assert.Equal(t, tt.want, got) // to the last bit, prefix or not
			assert.False(t, math.Signbit(got) && got == 0)
		})
	}
}

func TestParseRefuses(t *testing.T) {
	tests := []struct {
		text, unit string
		want       error
	}{
		{"", quantity.Volt, quantity.ErrEmpty},
		{" \t", quantity.Volt, quantity.ErrEmpty},
		{"V", quantity.Volt, quantity.ErrNotNumber},
		{"-", quantity.Volt, quantity.ErrNotNumber},
		{".", quantity.Volt, quantity.ErrNotNumber},
		{"13.", quantity.Volt, quantity.ErrNotNumber},
		{"nan", quantity.Volt, quantity.ErrNotNumber},
		{"-Inf", quantity.Volt, quantity.ErrNotNumber},
		{"about 13", quantity.Volt, quantity.ErrNotNumber},
		{"1k2", quantity.Volt, quantity.ErrLetter},
		{"12V5", quantity.Volt, quantity.ErrLetter},
		{"1e3", quantity.Volt, quantity.ErrLetter},
		{"1.2.3", quantity.Volt, quantity.ErrSeparator},
		{"1,234.5", quantity.Volt, quantity.ErrSeparator},
		{"13..1", quantity.Volt, quantity.ErrSeparator},
		{"1,050", quantity.Irradiance, quantity.ErrAmbiguous},
		{"1.050 W/m2", quantity.Irradiance, quantity.ErrAmbiguous},
		{"13,100 mV", quantity.Volt, quantity.ErrAmbiguous},
		{"13.1 12.9", quantity.Volt, quantity.ErrSeveral},
		{"13-1", quantity.Volt, quantity.ErrSeveral},
		{"13 A", quantity.Volt, quantity.ErrUnit},
		{"13 m", quantity.Volt, quantity.ErrUnit},
		{"13 MV", quantity.Volt, quantity.ErrUnit},
		{"77 °F", quantity.Celsius, quantity.ErrUnit},
		{"5 mC", quantity.Celsius, quantity.ErrUnit},
		{"1.265 V", quantity.Number, quantity.ErrUnit},
		{"13 V!", quantity.Volt, quantity.ErrUnit},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			got, err := quantity.Parse(tt.text, tt.unit)
			var parseErr *quantity.ParseError
			require.ErrorAs(t, err, &parseErr)
			assert.ErrorIs(t, err, tt.want)
			assert.Equal(t, tt.text, parseErr.Text)
			assert.Equal(t, tt.unit, parseErr.Unit)
			assert.Zero(t, got)
		})
	}
}

func TestParseTooLarge(t *testing.T) {
	long := make([]byte, 400)
	for i := range long {
		long[i] = '9'
	}
	_, err := quantity.Parse(string(long), quantity.Volt)
	assert.ErrorIs(t, err, quantity.ErrTooLarge)
}

// The message is what a person reads under the field.
func TestParseErrorText(t *testing.T) {
	_, err := quantity.Parse("1k2\x1b[31m", quantity.Volt)
	assert.EqualError(t, err, `"1k2": there is a letter inside the number; expected one number in V, such as 13.1, 13,1 V or 13100 mV`)
	_, err = quantity.Parse("", quantity.Number)
	assert.EqualError(t, err, `nothing was typed; expected one number without unit, such as 1.265 or 1,265`)
}

func TestParseList(t *testing.T) {
	tests := []struct {
		text, unit string
		want       []float64
	}{
		{"12.7", quantity.Volt, []float64{12.7}},
		{"12.7 12.6", quantity.Volt, []float64{12.7, 12.6}},
		{"12,7 12,6", quantity.Volt, []float64{12.7, 12.6}},
		{"12,7;12,6;", quantity.Volt, []float64{12.7, 12.6}},
		{"12.7, 12.6", quantity.Volt, []float64{12.7, 12.6}},
		{"12,7, 12,6", quantity.Volt, []float64{12.7, 12.6}},
		{"12.7 V 12600 mV", quantity.Volt, []float64{12.7, 12.6}},
		{"25 deg C; 26", quantity.Celsius, []float64{25, 26}},
		{" 1,262\n1,258\t1.260 ", quantity.Number, []float64{1.262, 1.258, 1.260}},
		{"\u22120,1 0,1", quantity.Volt, []float64{-0.1, 0.1}},
	}
	for _, tt := range tests {
		t.Run(tt.text, func(t *testing.T) {
			got, err := quantity.ParseList(tt.text, tt.unit)
			require.NoError(t, err)
			assert.Equal(t, tt.want, got)
		})
	}
}

func TestParseListRefuses(t *testing.T) {
	for text, want := range map[string]error{
		"":                quantity.ErrEmpty,
		" ; ":             quantity.ErrEmpty,
		"12.7 and 12.6":   quantity.ErrUnit,
		"12.7,12.6":       quantity.ErrSeparator,
		"12.7 12.x":       quantity.ErrNotNumber,
		"12.7; 12.6 A":    quantity.ErrUnit,
		"V 12.7":          quantity.ErrNotNumber,
		"12.7 V, V, 12.6": quantity.ErrNotNumber,
	} {
		t.Run(text, func(t *testing.T) {
			got, err := quantity.ParseList(text, quantity.Volt)
			assert.ErrorIs(t, err, want)
			assert.Nil(t, got)
		})
	}
}

func TestFormat(t *testing.T) {
	for want, got := range map[string]string{
		"13.10 V":   quantity.Format(13.1, quantity.Volt),
		"-0.20 V":   quantity.Format(-0.2, quantity.Volt),
		"0.00 A":    quantity.Format(-0.001, quantity.Ampere),
		"0.050 Ω":   quantity.Format(0.05, quantity.Ohm),
		"810 W/m2":  quantity.Format(810.4, quantity.Irradiance),
		"27.0 °C":   quantity.Format(27, quantity.Celsius),
		"1.265":     quantity.Format(1.265, quantity.Number),
		"60 min":    quantity.Format(60, quantity.Minute),
		"not known": quantity.Format(math.NaN(), quantity.Volt),
		"3.00 Ah":   quantity.Format(3, "Ah"), // a unit without a table of spellings
	} {
		assert.Equal(t, want, got)
	}
}

var allUnits = []string{
	quantity.Volt, quantity.Ampere, quantity.Ohm, quantity.Watt,
	quantity.Irradiance, quantity.Celsius, quantity.Minute, quantity.Number,
}

// Parse(Format(x)) is x to half of the last place shown.
func TestFormatParses(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		unit := rapid.SampledFrom(allUnits).Draw(t, "unit")
		x := rapid.Float64Range(-1e5, 1e5).Draw(t, "x")
		got, err := quantity.Parse(quantity.Format(x, unit), unit)
		require.NoError(t, err)
		assert.InDelta(t, x, got, 0.5000001*math.Pow10(-quantity.Decimals(unit)))
	})
}

func FuzzParse(f *testing.F) {
	for i, text := range []string{"13.1", "13,1 V", "13100 mV", ".47A", "-0.2", "1k2", "1.2.3", "1,234.5", "nan", "1e999", "\u22121 °C", "810 W/m²", "1,050", "99999999999999999999 h"} {
		f.Add(text, byte(i))
	}
	f.Fuzz(func(t *testing.T, text string, u byte) {
		unit := allUnits[int(u)%len(allUnits)]
		v, err := quantity.Parse(text, unit)
		if err != nil {
			var parseErr *quantity.ParseError
			require.ErrorAs(t, err, &parseErr)
			assert.Equal(t, text, parseErr.Text)
			assert.Zero(t, v)
			return
		}
		require.False(t, math.IsNaN(v) || math.IsInf(v, 0))
		again, err := quantity.Parse(quantity.Format(v, unit), unit)
		require.NoError(t, err)
		assert.InDelta(t, v, again, math.Pow10(-quantity.Decimals(unit))+1e-9*math.Abs(v))
		spaced, err := quantity.Parse("  "+text+"\t", unit)
		require.NoError(t, err)
		assert.Equal(t, v, spaced)
		one, err := quantity.ParseList(quantity.Format(v, unit), unit)
		require.NoError(t, err)
		assert.Equal(t, []float64{again}, one)
	})
}
