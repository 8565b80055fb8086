// Package quantity reads numbers with units as people type them and carries
// the limits of error of the instruments that showed them.
//
// Start with [Parse], [Format] and [Instrument]. Values are float64 in the
// unit itself ([Volt], [Ampere], …), never in a multiple of it.
package quantity

import "math"

// An Instrument states its limits of error, ±(percent of reading + digits ×
// resolution), or a plain ±PlusMinus where that is all its manual gives.
type Instrument struct {
	Percent    float64 // of the reading [%]
	Digits     float64 // counts of the last place
	Resolution float64 // the last place [unit of the reading]
	PlusMinus  float64 // plain limit [unit of the reading]; 0 if percent and digits are given

	Name       string `json:",omitempty"` // which one it is, a label or number; "" if not given
	Calibrated string `json:",omitempty"` // year-month or year-month-day; "" if not given
}

// Limit is the largest error the instrument may show at a true value v
// [unit of the reading].
//
// Source: the usual form of a meter's specification (common practice); worked
// figures in instrument_test.go.
func (in Instrument) Limit(v float64) float64 {
	return in.PlusMinus + in.Percent/100*math.Abs(v) + in.Digits*in.Resolution
}

// StandardUncertainty is the limit as a standard uncertainty, the limits taken
// as rectangular: Limit/√3.
//
// Source: JCGM 100:2008, 4.3.7 (from memory).
func (in Instrument) StandardUncertainty(v float64) float64 {
	return in.Limit(v) / math.Sqrt(3)
}
