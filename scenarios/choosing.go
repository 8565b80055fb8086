package scenarios

import (
	"slices"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
	"ampwalk/scenarios/virtualsite"
)

// chosen is what a careful person chooses of what a step offers: what is on, what is seen,
// what is told.
func chosen(b *virtualsite.Bench, s procedure.Step) procedure.Choices {
	if s.ID == loadsOnStep {
		return procedure.Named(b.LoadsAsFound()...)
	}
	list := noted(b, s.Notes)
	has := func(id string) bool { return slices.Contains(list, id) }
	if looked, _ := s.Signs(nil); len(looked) > 0 {
		there := b.Signs(reading.Seen)
		has = func(id string) bool {
			_, seen := s.Signs([]string{id})
			return slices.ContainsFunc(seen, func(sign string) bool { return slices.Contains(there, sign) })
		}
	}
	return slices.DeleteFunc(slices.Clone(s.Choices), func(c procedure.Choice) bool { return !has(c.ID) })
}

// noted are the ids that a reading noted by choices would have now.
func noted(b *virtualsite.Bench, k reading.Key) []string {
	switch k {
	case "":
		return nil
	case reading.Complaint, reading.Changed:
		return b.Signs(k)
	}
	d := take(b, k)
	if d.Word != "" {
		return []string{d.Word}
	}
	return d.Several
}

func needsInverter(s *site.Site, labels []string) bool {
	return slices.ContainsFunc(s.LoadsFrom(site.FromInverter), func(l site.Load) bool { return slices.Contains(labels, l.Label) })
}
