package plain_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/field/visiting"
)

// A reading once more keeps both values: the last one taken, or one shown again.
func TestRepeat(t *testing.T) {
	r := lead(t, after("repeat", "clear", "repeat", "overcast", "history", "back", "repeat", "hazy", "back", "clear", "history")...)
	assert.Contains(t, r.out, "Problem: no reading has been taken yet.")
	assert.Contains(t, r.out, "Once more. Taken before, and kept: clear")
	assert.Contains(t, r.out, "Taken: clear, then overcast")
	assert.Contains(t, r.out, "11. Sky: clear, then overcast\n")
	assert.Contains(t, r.out, "Taken: clear, then overcast, then hazy")
	assert.Contains(t, r.out, "11. Sky: clear\n", "a correction takes the place of all")
	assert.Equal(t, "clear", visiting.TakesText(r.visit.Takes("sky")))
}

func TestWhatIfAndWiring(t *testing.T) {
	r := lead(t, after("if 3", "clear", "1", "cl", "none", "none", "none", "lit", "2", "lit", "1 3", "none", "if 700", "if many", "wiring")...)
	assert.Contains(t, r.out, "Problem: that works only where a number is asked for.")
	assert.Contains(t, r.out, "If it were 700 W/m2:\n  1. The array circuit is open: likely, 70 %")
	assert.Contains(t, r.out, "Problem: \"many\"")
	assert.Contains(t, r.out, "Array: 2 strings of 1 module, fuse 10 A")
	assert.Contains(t, r.out, "Indicators: array lamp lit; battery lamp two bars; load lamp lit.")
	_, given := answers(r.visit)["irradiance_w_m2"]
	assert.False(t, given, "a what-if answers nothing")
}

// A reading that the belief holds for wrong is asked for once more, with the
// likely slip; what is expected is not told, and what cannot be done leaves it.
func TestRecheck(t *testing.T) {
	asked := []string{"clear", "1", "cl", "none", "none", "1", "lit", "2", "lit", "1 3", "none", "75"}
	r := lead(t, after(append(asked, "750", "history")...)...)
	_, again, _ := strings.Cut(r.out, "Why now: ")
	assert.Contains(t, again, "75 W/m2 does not fit the other readings: it is about ten times too\nlarge or too small")
	assert.Contains(t, again, "Once more. Taken before, and kept: 75 W/m2")
	assert.NotContains(t, again, "Expected:")
	assert.Contains(t, again, "Taken: 75 W/m2, then 750 W/m2")
	assert.NotContains(t, again, "Why now: ")

	r = lead(t, after(append(asked, "cannot", "cannot a cloud", "history")...)...)
	assert.Contains(t, r.out, "Light on the array: 75 W/m2\n", "it stands")
	assert.Equal(t, 1, strings.Count(r.out, "Why now: "), r.out)
}
