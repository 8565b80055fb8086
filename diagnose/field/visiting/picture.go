package visiting

import (
	"fmt"
	"slices"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// PointSentence says where the array works on its curve.
func PointSentence(c *belief.Curve) string {
	return fmt.Sprintf(words().Why.Point,
		quantity.Format(c.AtV, "V"), quantity.Format(c.AtA, "A"),
		quantity.Format(c.BestV, "V"), quantity.Format(c.BestA, "A"), c.BestV*c.BestA)
}

// Showings are what reading k would show under the leading conditions. Where one
// alone leads, a healthy plant stands beside it, to compare with.
func Showings(r *belief.Result, k reading.Key) []belief.Showing {
	shown, normal := r.Shown[k], r.Normal[k]
	if len(shown) != 1 || shown[0].ID == condition.Sound || !normal.Known() {
		return shown
	}
	return append(slices.Clone(shown), belief.Showing{ID: condition.Sound, Range: normal})
}

// ShownSentences say what reading k would show under each leading condition.
func ShownSentences(r *belief.Result, k reading.Key) []string {
	spec, _ := reading.SpecOf(k)
	var list []string
	for _, s := range Showings(r, k) {
		list = append(list, fmt.Sprintf(words().Why.Shown, condition.Of(s.ID).Title, FormatRange(s.Range, spec)))
	}
	return list
}

// WhatIf is the belief if reading k of the open question were x, by the
// inference infer; the visit does not change.
func WhatIf(in belief.Input, a Answer, infer Inferrer) (*belief.Result, error) {
	in.Readings = in.Readings.Clone()
	a.addTo(in.Readings)
	return infer(in)
}
