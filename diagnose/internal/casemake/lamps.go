package main

import "slices"

// lampsOf writes down how the lamps look.
func (n *notebook) lampsOf(f *found) {
	s := n.w.site
	for _, l := range s.Control.Lamps {
		if k := n.noted(l, func(m string, l look) bool { return n.holds(f, m, l) }); k >= 0 {
			n.lamps[l.Label] = l.Looks[k].Look
		}
	}
	if s.Inverter == nil {
		return
	}
	state := n.inverterState(f)
	for _, l := range s.Inverter.Lamps {
		if k := n.noted(l, func(m string, _ look) bool { return m == state }); k >= 0 {
			n.invLamps[l.Label] = l.Looks[k].Look
		}
	}
}

// noted is the look that holds, as a person notes it; -1: not noted.
func (n *notebook) noted(l lamp, holds func(string, look) bool) int {
	k := slices.IndexFunc(l.Looks, func(k look) bool {
		return !slices.ContainsFunc(k.Means, func(m string) bool { return !holds(m, k) })
	})
	switch {
	case k < 0 || n.chance(missingShare):
		return -1
	case n.chance(wrongLamp):
		return n.IntN(len(l.Looks))
	default:
		return k
	}
}

// holds reports whether a meaning is so.
func (n *notebook) holds(f *found, meaning string, l look) bool {
	bus, live := f.out["v(b)"], f.values["array_v"] >= 0.4*float64(n.w.site.NominalV)
	if !f.stand.powered {
		return meaning == "unpowered" || meaning == "array-dead" || meaning == "not-charging" || meaning == "not-regulating"
	}
	switch meaning {
	case "array-live":
		return live
	case "array-dead":
		return !live
	case "charging":
		return f.charging
	case "not-charging":
		return !f.charging
	case "regulating":
		return f.regulating
	case "not-regulating":
		return !f.regulating
	case "battery-above":
		return bus >= l.Volts
	case "battery-below":
		return bus < l.Volts
	case "battery-between":
		return bus >= l.Volts && bus < l.VoltsTo
	case "loads-live":
		return !f.cut
	case "loads-cut":
		return f.cut
	default:
		return meaning == "powered"
	}
}

// inverterState is what the inverter's lamps have to say.
func (n *notebook) inverterState(f *found) string {
	w := n.w
	supplied := f.out["v(iv)"] > 0.6*float64(w.site.NominalV)
	switch {
	case !supplied || !w.inverterOn:
		return "inverter-off"
	case w.fault.inverterOff:
		return pick(n.dice, "inverter-off", "inverter-off", "inverter-low", "inverter-overload")
	case f.inverterLo:
		return "inverter-low"
	default:
		return "inverter-on"
	}
}
