package quantity

import (
	"fmt"
	"strings"
)

// The units. A value is always in the unit itself, never in a multiple of it.
const (
	Volt       = "V"
	Ampere     = "A"
	Ohm        = "ohm"
	Watt       = "W"
	Irradiance = "W/m2"
	Celsius    = "C"
	Minute     = "min"
	Number     = "" // no unit: specific gravity
)

// A unit is how people write a unit, and how it is shown to them.
type unit struct {
	symbols  []string // the spellings; the first one is shown
	multiple map[string]float64
	prefixes string // which may stand before a symbol
	decimals int    // places shown
	example  string // the id of what one may type, in the word file
	// grouped tells that whole numbers over a thousand are usual and three
	// decimals are not, so that 1,050 cannot be told from 1.05.
	grouped bool
}

var units = map[string]unit{
	Volt:       {example: "volt", symbols: []string{"V", "v", "volt", "volts", "Volt", "Volts"}, prefixes: "mkK", decimals: 2},
	Ampere:     {example: "ampere", symbols: []string{"A", "a", "amp", "amps", "Amp", "Amps"}, prefixes: "muµμ", decimals: 2},
	Ohm:        {example: "ohm", symbols: []string{"Ω", "\u2126", "ohm", "ohms", "Ohm", "Ohms"}, prefixes: "mkKM", decimals: 3},
	Watt:       {example: "watt", symbols: []string{"W", "w", "watt", "watts", "Watt", "Watts"}, prefixes: "mkK", decimals: 1, grouped: true},
	Irradiance: {example: "irradiance", symbols: []string{"W/m2", "W/m²", "W/m^2", "w/m2", "w/m²", "w/m^2"}, prefixes: "kK", decimals: 0, grouped: true},
	Celsius:    {example: "celsius", symbols: []string{"°C", "C", "c", "°c", "ºC", "℃", "°", "deg C", "degC"}, decimals: 1},
	Minute:     {example: "minute", symbols: []string{"min", "mins", "minute", "minutes"}, multiple: map[string]float64{"h": 60, "hour": 60, "hours": 60}, decimals: 0, grouped: true},
	Number:     {example: "number", decimals: 3},
}

// unitOf is the unit of that name; one not listed is written by its name alone.
func unitOf(name string) unit {
	if u, ok := units[name]; ok {
		return u
	}
	return unit{symbols: []string{name}, decimals: 2, example: "other"}
}

// name is how the unit is called in a message.
func (u unit) name() string {
	if len(u.symbols) == 0 {
		return words().Without
	}
	return fmt.Sprintf(words().In, u.symbols[0])
}

// exponents of the prefixes, powers of ten.
var exponents = map[string]string{"": "", "k": "e3", "K": "e3", "M": "e6", "m": "e-3", "u": "e-6", "µ": "e-6", "μ": "e-6"}

// scale finds what a number written before suffix is to be multiplied by: a
// power of ten in decimal notation and a plain factor.
func (u unit) scale(suffix string) (exponent string, factor float64, ok bool) {
	if suffix == "" {
		return "", 1, true
	}
	if factor, ok := u.multiple[suffix]; ok {
		return "", factor, true
	}
	for _, symbol := range u.symbols {
		prefix, ok := strings.CutSuffix(suffix, symbol)
		if exponent, known := exponents[prefix]; ok && known && strings.Contains(u.prefixes, prefix) {
			return exponent, 1, true
		}
	}
	return "", 0, false
}
