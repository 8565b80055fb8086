package virtualsite

import "ampwalk/diagnose/physics/plant"

// Truth is the plant now as it is, which no trainee sees: every reading without an
// instrument's errors, and the charge of the battery as a part of what it holds.
func (b *Bench) Truth() (o plant.Out, charge float64) {
	return b.solve().found, b.u.SoC
}
