package plant

// usbV is what an output of a closed kit shows, with a little load on it [V] (USB: 4.75 to
// 5.25 V at a port; from memory).
const usbV = 5.1

// closedKit writes the readings at the outputs of a closed kit.
func (s *solver) closedKit() {
	k := s.site.Kit
	if k == nil {
		return
	}
	o, v := s.o, &s.o.Value
	if !o.LoadsLive {
		o.Floats[USBLow], o.Floats[USBRest] = true, true
	} else {
		v[USBLow], v[USBRest] = usbV, usbV
		if s.f.USBLost > 0 {
			v[USBLow] = 0
		}
		v[OutputW] = v[LoadA] * v[LoadEndV]
	}
	if s.u.RunW > 0 {
		v[RunH] = s.p.runs(s.u)
	}
}

// runs is how long a full kit carries the loads of which people tell, until it cuts them
// off [h], at most 240.
func (p *Plant) runs(u *Unknowns) float64 {
	f := &u.Fault
	if f.BatteryOpen || f.PackOff || f.Dead {
		return 0
	}
	perCell := 2.0 // under a light load [V] (nameplates of cells)
	if !p.site.Battery.Chemistry.LeadAcid() {
		perCell = 3.2
	}
	amps := u.RunW*f.load()/(perCell*p.cells) + p.site.Controller.OwnUseMA/1000*u.OwnUse
	left := 1 - p.CutAt(u, amps)
	rate, _ := p.PerHour(u, -amps)
	return min(longestHours, max(0, left)/-rate)
}
