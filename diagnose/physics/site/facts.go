package site

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

// Lamp finds the lamp with the given label.
func (s *Site) Lamp(label string) (Lamp, bool) {
	for _, l := range s.Controller.Lamps {
		if l.Label == label {
			return l, true
		}
	}
	return Lamp{}, false
}
