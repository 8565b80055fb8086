package visiting

import (
	"maps"
	"slices"

	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Usable reports whether the visit's readings can hold what a says. What was
// typed here always can; a visit file from elsewhere may say anything, and what
// no step of this site takes or no instrument could show is left out of the
// belief. The answer itself stays in the history.
func (v *Visit) Usable(a Answer) bool {
	switch {
	case a.Kind != Took || a.Number == nil && a.List == nil && a.Word == "":
		return true
	case a.Reading == "":
		return false
	}
	if _, ok := v.course.StepFor(a.Reading); !ok {
		return false
	}
	spec, _ := reading.SpecOf(a.Reading)
	possible := func(x float64) bool { return reading.Possible(a.Reading, x, v.site) == nil }
	switch {
	case a.Number != nil:
		return spec.Form == reading.Number && possible(*a.Number)
	case a.List != nil:
		n, _ := reading.ListLen(a.Reading, v.site)
		return spec.Form == reading.List && len(a.List) == n && !slices.ContainsFunc(a.List, func(x float64) bool { return !possible(x) })
	}
	choices := spec.Choices
	if label, ok := a.Reading.LampLabel(); ok {
		lamp, _ := v.site.Lamp(label)
		choices = looksOf(lamp)
	}
	if label, ok := a.Reading.InverterLabel(); ok {
		lamp, _ := v.site.InverterLamp(label)
		choices = looksOf(lamp)
	}
	return slices.Contains(choices, a.Word)
}

func looksOf(l site.Lamp) []string {
	var looks []string
	for _, look := range l.Looks {
		looks = append(looks, look.Look)
	}
	return looks
}

// soundInstruments are the instruments that a readings file could describe.
func soundInstruments(list map[reading.Meter]quantity.Instrument) map[reading.Meter]quantity.Instrument {
	list = maps.Clone(list)
	maps.DeleteFunc(list, func(_ reading.Meter, in quantity.Instrument) bool { return !reading.SoundInstrument(in) })
	return list
}
