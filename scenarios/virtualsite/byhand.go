package virtualsite

import "ampwalk/diagnose/physics/plant"

// byHandLight is the light that a dark board leaves of a module's: what is scattered below
// its edges (judgement).
const byHandLight = 0.05

// Modules are how many modules the array has.
func (b *Bench) Modules() int { return b.setup.Site.Array.Series * b.setup.Site.Array.Strings }

// ShadeByHand holds a dark board over a module, counted from 1 along each string; 0 takes it
// away. What is measured while it is there is no reading as found.
func (b *Bench) ShadeByHand(module int) {
	if b.open.ByHand == module {
		return
	}
	before := b.unknowns()
	b.open.ByHand = module
	b.settle(before)
	b.pass(oneReading)
}

// shaded puts the shadow of the board on the plant. It does nothing where the module's string
// is open. Of a shadow that lies on one string already, the larger counts: the plant has one.
func (b *Bench) shaded(f *plant.Fault) {
	a := &b.setup.Site.Array
	if b.open.ByHand == 0 {
		return
	}
	first := b.random("open string", 0).IntN(a.Strings) // the open ones come after it
	str := (b.open.ByHand - 1) / a.Series
	if (str-first+a.Strings)%a.Strings < f.StringsOpen {
		return
	}
	groups := max(1, b.plant.Groups()/a.Series)
	if f.ShadedGroups == 0 {
		f.ShadeLight = 1
	}
	f.ShadedGroups = max(f.ShadedGroups, groups)
	f.ShadeLight = min(f.ShadeLight, byHandLight)
}
