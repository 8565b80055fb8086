package plant

// cableOhm are the largest resistances of one conductor at 20 °C [ohm/km] by
// cross-section [mm²]: plain copper, flexible (class 5).
//
// Source: IEC 60228 (read in three reproductions that agree).
var cableOhm = [...]struct{ mm2, perKm float64 }{
	{1.5, 13.3}, {2.5, 7.98}, {4, 4.95}, {6, 3.30}, {10, 1.91}, {16, 1.21}, {25, 0.780}, {35, 0.554},
}

// copperPerC is the temperature coefficient of annealed copper's resistance at
// 20 °C [1/K] (IEC 60028, from memory). IEC 60228 rounds it to 0.004.
const copperPerC = 0.00393

// CableOhm is the loop resistance [ohm] of a two-wire cable of one-way length
// m [m] and cross-section mm2 [mm²] with conductors at c [°C]. Between the
// standard's sizes resistance times area is taken to run straight, beyond them
// to stay: strands and lay change it by 4 % at most.
func CableOhm(m, mm2, c float64) float64 {
	if mm2 <= 0 {
		return 0
	}
	k := len(cableOhm) - 1
	for k > 0 && cableOhm[k].mm2 > mm2 {
		k--
	}
	here := cableOhm[k]
	product := here.perKm * here.mm2
	if k+1 < len(cableOhm) && mm2 > here.mm2 {
		next := cableOhm[k+1]
		product += (next.perKm*next.mm2 - product) * (mm2 - here.mm2) / (next.mm2 - here.mm2)
	}
	return 2 * m * product / mm2 / 1000 * (1 + copperPerC*(c-20))
}
