package virtualsite

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/plant"
)

// A board over a module takes about its string's current away, and nothing where the string
// is open; taken away again all is as before. What is measured meanwhile is no reading as
// found (common practice: the test for a string that gives nothing).
func TestShadeByHand(t *testing.T) {
	amps := func(b *Bench) float64 { return b.solve().found.Value[plant.ArrayA] }
	s := setup(nil)
	at := *s.Site
	at.Array.Series, at.Array.Strings = 1, 2
	s.Site, s.Unknowns.SoC = &at, 0.3 // far from held back
	sound := New(s)
	require.Equal(t, 2, sound.Modules())
	all := amps(sound)
	for module := 1; module <= 2; module++ {
		sound.ShadeByHand(module)
		assert.InDelta(t, 0.5, amps(sound)/all, 0.1, "module %d of two strings", module)
		assert.False(t, sound.Put())
		sound.Zero()
		d, err := sound.Embrace("array-wire", false)
		require.NoError(t, err)
		assert.Empty(t, d.Reading)
	}
	sound.ShadeByHand(0)
	assert.InDelta(t, 1, amps(sound)/all, 0.05, "but for the light, which moves")
	assert.True(t, sound.Put())

	s.Unknowns.Fault.StringsOpen = 1
	ill := New(s)
	left := amps(ill)
	assert.InDelta(t, 0.5, left/all, 0.1)
	var missed []bool
	for module := 1; module <= 2; module++ {
		ill.ShadeByHand(module)
		missed = append(missed, amps(ill) < 0.5*left)
		ill.ShadeByHand(0)
	}
	assert.NotEqual(t, missed[0], missed[1], "one of the two strings gives nothing")
}

// Loaded up, an array that is held back gives more at once; one that gives all that it can
// does not.
func TestLoadUp(t *testing.T) {
	amps := func(b *Bench) float64 { return b.solve().found.Value[plant.ArrayA] }
	for soc, held := range map[float64]bool{0.999: true, 0.3: false} {
		s := setup(nil)
		s.Unknowns.SoC = soc
		s.LoadsOn = nil
		b := New(s)
		before := amps(b)
		require.Equal(t, held, b.solve().found.Regulating)
		var all []string
		for _, l := range s.Site.Loads {
			all = append(all, l.Label)
		}
		b.SwitchLoads(all)
		if held {
			assert.Greater(t, amps(b), 1.15*before+0.2)
		} else {
			assert.InDelta(t, 1, amps(b)/before, 0.1)
		}
	}
}
