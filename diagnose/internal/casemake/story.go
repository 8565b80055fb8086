package main

import "slices"

// A story is what people say and what eyes see besides the readings. The shares below are
// judgement: drawn for these cases alone, and wide.
type story struct {
	visit        string
	complaint    []string
	changed      []string
	seen         []string
	notWorking   []string
	percent      int // of the pack's display, -1 for none
	alarm        *bool
	told, looked bool
	chargerOn    *bool
}

// hints are how often a thing is seen or said with a condition [share].
var hints = map[string]map[string]float64{
	"seen": {
		"post-crust": 0.08, "wire-loose": 0.04, "box-open": 0.08, "insects": 0.07, "cable-hanging": 0.08,
		"frame-loose": 0.03, "cover-missing": 0.05, "glass-broken": 0.02, "cells-brown": 0.04, "water-in-box": 0.03,
		"post-loose": 0.02, "wire-broken": 0.01, "spot-melted": 0.01, "spot-burnt": 0.02, "fuse-missing": 0.01,
		"fuse-bridged": 0.04, "acid-low": 0.05, "plates-bare": 0.01, "swollen": 0.02, "leak": 0.02,
	},
	"array-open":  {"wire-broken": 0.25, "wire-loose": 0.2, "cable-hanging": 0.25, "fuse-missing": 0.1, "roof-work": 0.15, "storm": 0.25},
	"array-joint": {"wire-loose": 0.25, "spot-melted": 0.15, "spot-burnt": 0.15, "water-in-box": 0.15}, "array-aged": {"cells-brown": 0.35, "glass-broken": 0.12},
	"array-reversed": {"repair": 0.5, "roof-work": 0.2}, "array-shaded": {"frame-loose": 0.05}, "array-short": {"spot-melted": 0.3, "cable-hanging": 0.3, "spot-burnt": 0.25, "storm": 0.2},
	"battery-joint": {"post-crust": 0.45, "post-loose": 0.35, "spot-melted": 0.1}, "battery-open": {"post-loose": 0.2, "fuse-missing": 0.25, "wire-broken": 0.1, "battery-moved": 0.25},
	"battery-worn": {"swollen": 0.15, "leak": 0.08, "lamps-short": 0.5, "cuts-out-early": 0.4}, "cell-short": {"swollen": 0.1, "leak": 0.05, "smell-or-heat": 0.2},
	"load-joint": {"wire-loose": 0.3, "spot-melted": 0.15, "lamps-dim": 0.6}, "load-open": {"wire-broken": 0.2, "fuse-missing": 0.3},
	"load-excess": {"new-load": 0.5, "cuts-out-early": 0.4}, "standby-drain": {"new-load": 0.25, "lamps-short": 0.3},
	"set-point-high": {"acid-low": 0.3, "smell-or-heat": 0.3, "leak": 0.1}, "charge-path-stuck": {"acid-low": 0.35, "plates-bare": 0.1, "smell-or-heat": 0.4},
	"controller-dead": {"spot-burnt": 0.2, "insects": 0.2, "water-in-box": 0.15, "storm": 0.35}, "charge-path-open": {"storm": 0.25, "spot-burnt": 0.1},
	"appliance-fault": {"appliance-dead": 0.7}, "inverter-off": {"appliance-dead": 0.5, "no-power": 0.3, "storm": 0.15},
	"inverter-starved": {"spot-melted": 0.2, "wire-loose": 0.25, "cuts-out-early": 0.4}, "block-weak": {"swollen": 0.15, "cuts-out-early": 0.4, "battery-moved": 0.15},
	"battery-string-open": {"post-loose": 0.3, "fuse-missing": 0.2, "lamps-short": 0.4, "battery-moved": 0.2},
	"earth-fault":         {"water-in-box": 0.3, "cable-hanging": 0.2, "roof-work": 0.15, "storm": 0.2},
	"electrolyte-low":     {"acid-low": 0.65, "plates-bare": 0.35, "lamps-short": 0.3}, "cut-off-fails": {"lamps-short": 0.3, "repair": 0.2},
}

var (
	seenIDs    = []string{"post-crust", "post-loose", "wire-loose", "wire-broken", "spot-melted", "spot-burnt", "fuse-missing", "fuse-bridged", "glass-broken", "cells-brown", "frame-loose", "cable-hanging", "box-open", "water-in-box", "acid-low", "plates-bare", "swollen", "leak", "insects", "cover-missing"}
	complaints = []string{"no-power", "lamps-dim", "lamps-short", "cuts-out-early", "appliance-dead", "controller-warns", "smell-or-heat"}
	changes    = []string{"storm", "new-load", "roof-work", "water-added", "battery-moved", "repair"}
)

// share of the visits with these conditions in which a thing shows; else is its share
// with any.
func share(conditions []string, id string, otherwise float64) float64 {
	p := otherwise
	for _, c := range conditions {
		p = max(p, hints[c][id])
	}
	return p
}

// tell draws the story of a visit.
func (n *notebook) tell(f *found) story {
	w, s := n.w, n.w.site
	t := story{percent: -1}
	ids := w.conditions
	called := 0.3
	if len(ids) > 0 {
		called = 0.7
	}
	t.visit = "round"
	if n.chance(called) {
		t.visit = "call-out"
	}
	if n.chance(0.1) {
		t.visit = ""
	}
	t.told, t.looked = n.chance(0.85), n.chance(0.85)
	dead := f.out["v(e)"] < 0.75*float64(s.NominalV)
	for _, c := range complaints {
		p := map[bool]float64{true: 0.07, false: 0.02}[t.visit == "call-out"]
		switch {
		case c == "no-power" && dead:
			p = 0.6
		case c == "cuts-out-early" && f.cut || c == "lamps-short" && w.store.soc < 0.2:
			p = 0.4
		}
		if n.chance(share(ids, c, p)) {
			t.complaint = append(t.complaint, c)
		}
	}
	for _, c := range changes {
		if n.chance(share(ids, c, 0.05)) {
			t.changed = append(t.changed, c)
		}
	}
	for _, id := range seenIDs {
		if (id == "acid-low" || id == "plates-bare") && s.Battery.Chemistry != flooded {
			continue
		}
		if n.chance(share(ids, id, hints["seen"][id])) {
			t.seen = append(t.seen, id)
		}
	}
	if len(t.complaint) == 0 {
		t.complaint = []string{"none"}
	}
	if len(t.changed) == 0 {
		t.changed = []string{"none"}
	}
	n.displays(f, &t)
	return t
}

// displays are the charger's switch, the pack's own display and the loads that are tried.
func (n *notebook) displays(f *found, t *story) {
	w, s := n.w, n.w.site
	if s.Charger != nil && !n.chance(missingShare) {
		on := w.chargerOn
		t.chargerOn = &on
	}
	if s.Battery.Chemistry == lfp && n.chance(0.5) && (!w.fault.packOff || n.chance(0.3)) {
		off := n.between(-0.03, 0.03)
		if n.chance(0.3) {
			off = n.between(-0.2, 0.2) // the display has drifted (common practice)
		}
		t.percent = int(100 * clamp(w.store.soc+off, 0, 1))
		alarm := n.chance(0.03) || w.store.soc < 0.08 && n.chance(0.5) || w.fault.packOff && n.chance(0.6)
		t.alarm = &alarm
	}
	for _, l := range s.Loads {
		works := w.supplied(f, l)
		if l.Label == w.fault.badLoad {
			works = false
		}
		if works == n.chance(0.02) {
			t.notWorking = append(t.notWorking, l.Label)
		}
	}
	slices.Sort(t.notWorking)
}

// supplied reports whether a load gets what it needs.
func (w *world) supplied(f *found, l load) bool {
	least := 0.8 * float64(w.site.NominalV)
	switch {
	case w.site.source(l) == fromInverter:
		if !w.inverterOn { // nobody switched it on to try
			return true
		}
		return f.stand.inverter && !w.fault.inverterOff && f.out["v(iv)"] >= w.site.Inverter.CutV
	case w.site.onMain(l):
		return f.out["v(e)"] >= least
	default:
		return f.out["v(p)"] >= least
	}
}
