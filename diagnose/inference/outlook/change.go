package outlook

import (
	"fmt"
	"slices"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A Change is something done to the system; the zero value leaves all as it is.
type Change struct {
	Without    []string `json:"without,omitempty"`     // labels of loads taken out
	AtNoon     []string `json:"at_noon,omitempty"`     // labels of loads used about noon, not in the evening
	InEvening  []string `json:"in_evening,omitempty"`  // labels of loads used from sunset on
	Strings    int      `json:"strings,omitempty"`     // strings of modules more, or fewer where below 0
	Clean      bool     `json:"clean,omitempty"`       // the glass of the modules
	Repaired   bool     `json:"repaired,omitempty"`    // all that is wrong mended
	NewBattery bool     `json:"new_battery,omitempty"` // of the present size
	CapacityAh float64  `json:"capacity_ah,omitempty"` // and of this size where it is above 0
	ArrayMM2   float64  `json:"array_mm2,omitempty"`   // wire of the array's cable where it is above 0
}

// apply gives the site and the draws as they would be.
func (ch Change) apply(s *site.Site, draws []belief.Draw) (*site.Site, []belief.Draw) {
	changed := *s
	changed.Loads = slices.DeleteFunc(slices.Clone(s.Loads), func(l site.Load) bool { return slices.Contains(ch.Without, l.Label) })
	changed.Array.Strings = max(0, s.Array.Strings+ch.Strings)
	if ch.ArrayMM2 > 0 {
		changed.Array.CableMM2 = ch.ArrayMM2
	}
	if ch.CapacityAh > 0 {
		changed.Battery.CapacityAh = ch.CapacityAh
	}
	as := slices.Clone(draws)
	for k := range as {
		d := &as[k]
		if ch.Repaired {
			d.Fault, d.Conditions = plant.Fault{}, nil
		}
		if ch.Clean {
			d.Fault.LightLost, d.Soiling = 0, 0
		}
		if ch.NewBattery || ch.CapacityAh > 0 {
			f := &d.Fault
			f.OhmX, f.CapacityX, f.ShortedCells, f.AcidLost = 0, 0, 0, 0
			f.WeakX, f.StringsLost, f.AcidGained = 0, 0, 0
			d.Capacity, d.Ohm = max(d.Capacity, 1), min(d.Ohm, 1)
		}
	}
	return &changed, as
}

// Text is the change to the site in short phrases, none where it leaves all as it is.
func (ch Change) Text(s *site.Site) (list []string) {
	help := words().Help
	add := func(id string, args ...any) { list = append(list, fmt.Sprintf(help[id], args...)) }
	for _, x := range []struct {
		id     string
		labels []string
	}{{"without", ch.Without}, {"noon", ch.AtNoon}, {"evening", ch.InEvening}} {
		if len(x.labels) > 0 {
			add(x.id, joined(x.labels))
		}
	}
	if ch.Repaired {
		add("repair")
	}
	if ch.Clean {
		add("clean")
	}
	switch w := s.Array.Module.PmpW * float64(s.Array.Series); ch.Strings {
	case 0:
	case 1:
		add("string", w)
	default:
		add("strings", ch.Strings, w)
	}
	switch {
	case ch.CapacityAh > s.Battery.CapacityAh:
		add("larger-battery", ch.CapacityAh)
	case ch.CapacityAh > 0:
		add("other-battery", ch.CapacityAh)
	case ch.NewBattery:
		add("battery", s.Battery.CapacityAh)
	}
	if ch.ArrayMM2 > 0 {
		add("cable", ch.ArrayMM2)
	}
	return list
}

// uses are the uses of a site that was changed.
func (ch Change) uses(s *site.Site) []Use {
	list := usesOf(s)
	for i := range list {
		switch label := list[i].Label; {
		case slices.Contains(ch.AtNoon, label):
			list[i].Evening = false
		case slices.Contains(ch.InEvening, label):
			list[i].Evening = true
		}
	}
	return list
}
