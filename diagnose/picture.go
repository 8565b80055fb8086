package diagnose

import (
	"fmt"

	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/quantity"
	"ampwalk/diagnose/reading"
)

// PointSentence says where the array works on its curve.
func PointSentence(c *belief.Curve) string {
	return fmt.Sprintf(words().Why.Point,
		quantity.Format(c.AtV, "V"), quantity.Format(c.AtA, "A"),
		quantity.Format(c.BestV, "V"), quantity.Format(c.BestA, "A"), c.BestV*c.BestA)
}

// ShownSentences say what reading k would show under each leading condition.
func ShownSentences(r *belief.Result, k reading.Key) []string {
	spec, _ := reading.SpecOf(k)
	var list []string
	for _, s := range r.Shown[k] {
		list = append(list, fmt.Sprintf(words().Why.Shown, condition.Of(s.ID).Title, FormatRange(s.Range, spec.Unit)))
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
