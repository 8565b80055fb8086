package site

import "slices"

// Temperatures of the nameplate and of the coldest morning one reckons with
// where no own figure is known [°C].
//
// Source: standard test conditions of IEC 61215 (from memory); −10 °C: common
// practice.
const (
	NameplateC = 25
	ColdestC   = -10
)

// OpenCircuitV is the array's open-circuit voltage [V] in full sun at the
// given cell temperature [°C], by the nameplate's coefficient:
// series·Voc·(1 + β·(T − 25)).
func (a Array) OpenCircuitV(cellC float64) float64 {
	m := a.Module
	return float64(a.Series) * m.VocV * (1 + m.VocPctPerC/100*(cellC-NameplateC))
}

// OpenCircuitColdV is the highest voltage the array can show [V]: open-circuit,
// in full sun, on a morning at [ColdestC]. What may be touched is decided on it,
// so a module voltage that was assumed counts as the highest that it may be.
func (s *Site) OpenCircuitColdV() float64 {
	a := s.Array
	a.Module.VocV += s.Doubts["array.module.voc_v"]
	return a.OpenCircuitV(ColdestC)
}

// ShortCircuitA is the array's short-circuit current at standard test
// conditions [A].
func (a Array) ShortCircuitA() float64 { return float64(a.Strings) * a.Module.IscA }

// PowerW is the array's nameplate power [W].
func (a Array) PowerW() float64 { return float64(a.Series*a.Strings) * a.Module.PmpW }

// ListedW is the power of the listed loads with these labels [W]; a label that
// is not listed adds nothing.
func (s *Site) ListedW(labels []string) float64 {
	on := make(map[string]bool, len(labels))
	for _, label := range labels {
		on[label] = true
	}
	var w float64
	for _, l := range s.Loads {
		if on[l.Label] {
			w += l.PowerW
		}
	}
	return w
}

// AllListedW is the power of all the listed loads [W].
func (s *Site) AllListedW() float64 {
	var w float64
	for _, l := range s.Loads {
		w += l.PowerW
	}
	return w
}

// SourceOf is where a load takes its current from: by its own word, else from the load
// output of a controller that has one, else from the battery.
func (s *Site) SourceOf(l Load) Source {
	switch {
	case l.From != "":
		return l.From
	case s.Controller.LoadOutput:
		return FromOutput
	default:
		return FromBattery
	}
}

// SecondArray reports whether a second array charges the battery through a controller of its
// own.
func (s *Site) SecondArray() bool { return s.Charger != nil && s.Charger.Source == FromArray }

// MainSource is where what the load wiring carries comes from: the load output, or the
// battery where the controller has none.
func (s *Site) MainSource() Source { return s.SourceOf(Load{}) }

// LoadsFrom are the loads that take their current from there.
func (s *Site) LoadsFrom(from Source) []Load {
	var loads []Load
	for _, l := range s.Loads {
		if s.SourceOf(l) == from {
			loads = append(loads, l)
		}
	}
	return loads
}

// ListedFromW is the power of all the listed loads that take their current from there [W];
// of the inverter it is AC power.
func (s *Site) ListedFromW(from Source) float64 {
	var w float64
	for _, l := range s.LoadsFrom(from) {
		w += l.PowerW
	}
	return w
}

// DrawnW is the DC power that the inverter takes to give acW [W]: its own draw, and the AC
// power by the efficiency that its sheet gives at a third of the rated power. Losses grow
// in proportion between, which is within a few per cent of measured curves up to the rated
// power (judgement).
func (i *Inverter) DrawnW(acW float64) float64 {
	third := i.RatedW / 3
	return i.IdleW + acW*max(1.005, 1/i.Efficiency-i.IdleW/third)
}

// Lamp finds the lamp with the given label.
func (s *Site) Lamp(label string) (Lamp, bool) {
	for _, l := range s.Controller.Lamps {
		if l.Label == label {
			return l, true
		}
	}
	return Lamp{}, false
}

// InverterLamp finds the lamp of the inverter with the given label.
func (s *Site) InverterLamp(label string) (Lamp, bool) {
	if s.Inverter == nil {
		return Lamp{}, false
	}
	i := slices.IndexFunc(s.Inverter.Lamps, func(l Lamp) bool { return l.Label == label })
	if i < 0 {
		return Lamp{}, false
	}
	return s.Inverter.Lamps[i], true
}
