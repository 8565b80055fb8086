package plant

// ArrayOpenV is the array's open-circuit voltage as found [V], 0 where its
// circuit is open.
func (p *Plant) ArrayOpenV(u *Unknowns) float64 {
	a := p.arrayAt(u, u.Irradiance, u.CellC)
	return a.openVoltage()
}

// ArrayCurve writes into amps the currents [A] that the array gives at the
// controller's array terminals at each of the voltages [V] there: its
// current-voltage curve as found.
func (p *Plant) ArrayCurve(u *Unknowns, volts, amps []float64) {
	a := p.arrayAt(u, u.Irradiance, u.CellC)
	for i, v := range volts {
		amps[i] = a.current(v, 0)
	}
}
