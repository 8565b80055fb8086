package quantity

import (
	"fmt"
	"math"
	"strconv"
)

// Percent is a probability as people read it: "93 %", never 0 or 100.
func Percent(p float64) string {
	switch {
	case p < 0.01:
		return words().Say.Below
	case p > 0.99:
		return words().Say.Above
	default:
		return Share(p)
	}
}

// Share is a part of a whole in whole percent: "62 %".
func Share(x float64) string { return fmt.Sprintf(words().Say.Percent, 100*x) }

// Hours are a time in whole hours, above three days in days.
func Hours(h float64) string {
	if math.Round(h) > 72 {
		return words().Say.Days.Of(int(math.Round(h / 24)))
	}
	return words().Say.Hours.Of(int(math.Round(h)))
}

// Format writes v with its unit and the usual number of decimals, in a form
// that [Parse] reads back.
func Format(v float64, unit string) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return words().NotKnown
	}
	u := unitOf(unit)
	text := strconv.FormatFloat(v, 'f', u.decimals, 64)
	if math.Abs(v) < 0.5*math.Pow10(-u.decimals) {
		text = strconv.FormatFloat(0, 'f', u.decimals, 64) // no negative zero
	}
	if len(u.symbols) == 0 || u.symbols[0] == "" {
		return text
	}
	return text + " " + u.symbols[0]
}

// Decimals is the number of places in which [Format] writes the unit.
func Decimals(unit string) int { return unitOf(unit).decimals }
