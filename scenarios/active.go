package scenarios

import (
	"slices"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios/virtualsite"
)

// activeTests are the active tests of a visit, by their steps: each does one at the bench, puts back
// what it changed, and gives the id of what was seen.
var activeTests = map[string]func(*virtualsite.Bench) string{
	"test-load-up": loadedUp, "test-shade": shadedByHand, "test-one-load": oneByOne,
}

// From where on a current has changed: by this part of it, and by this much of a clamp's error
// [A] (judgement).
const (
	clearlyBy   = 0.15
	clearlyAmps = 0.2
)

func clearly(more, less float64) bool { return more-less > clearlyBy*less+clearlyAmps }

// clamped is the current of a wire, with the clamp zeroed [A].
func clamped(b *virtualsite.Bench, k reading.Key) float64 {
	b.Zero()
	return clampOn(b, wireOf[k]).Reads
}

// loadedUp switches the test loads on beside those that are on.
func loadedUp(b *virtualsite.Bench) string {
	on := b.LoadsOn()
	all := slices.Clone(on)
	for _, label := range procedure.TestLoads(b.Site()) {
		if !slices.Contains(all, label) {
			all = append(all, label)
		}
	}
	if len(all) == len(on) {
		return "not-done"
	}
	before := clamped(b, reading.ArrayA)
	b.SwitchLoads(all)
	after := clamped(b, reading.ArrayA)
	b.SwitchLoads(on)
	if clearly(after, before) {
		return "rose"
	}
	return "same"
}

// shadedByHand holds the board over the first module of each string in turn.
func shadedByHand(b *virtualsite.Bench) string {
	series := b.Site().Array.Series
	for module := 1; module <= b.Modules(); module += series {
		lit := clamped(b, reading.ArrayA)
		b.ShadeByHand(module)
		dark := clamped(b, reading.ArrayA)
		b.ShadeByHand(0)
		if !clearly(lit, dark) {
			return "one-does-not"
		}
	}
	return "each-falls"
}

// oneByOne switches all loads off, then each on alone.
func oneByOne(b *virtualsite.Bench) string {
	on, s := b.LoadsOn(), b.Site()
	defer b.SwitchLoads(on)
	b.SwitchLoads(nil)
	off := clamped(b, reading.LoadA)
	if off > clearlyAmps {
		return "draws-when-off"
	}
	for _, l := range s.Loads {
		b.SwitchLoads([]string{l.Label})
		if clearly(clamped(b, reading.LoadA)-off, l.PowerW/s.NominalV) {
			return "one-draws-more"
		}
	}
	return "as-labelled"
}

// testAnswer is the choice of a test's step that was seen.
func testAnswer(s procedure.Step, id string) procedure.Choices {
	return slices.DeleteFunc(slices.Clone(s.Choices), func(c procedure.Choice) bool { return c.ID != id })
}
