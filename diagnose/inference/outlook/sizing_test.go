package outlook

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

// A worked example that follows a simplified method of IEEE (an extract, a weak source):
// 1 000 Wh a day for 2.5 days, half of the battery, 4.4 °C, 12 V: 541.7 Ah. And its row of
// multipliers, that of many handbooks.
func TestWorkedExampleOfSizing(t *testing.T) {
	assert.InDelta(t, 541.7, CapacityFor(1000, 2.5, 0.5, ColdFactor(4.4), 12), 0.05)
	for c, x := range map[float64]float64{26.7: 1, 21.1: 1.04, 15.6: 1.11, 10: 1.19, 4.4: 1.30, -1.1: 1.40, -6.7: 1.59, 40: 1, -20: 1.59} {
		assert.InDelta(t, x, ColdFactor(c), 1e-9, "%g C", c)
	}
	last := ColdFactor(-30)
	for c := -30.; c < 40; c++ {
		assert.LessOrEqual(t, ColdFactor(c), last)
		last = ColdFactor(c)
	}
}

// A clinic's daily need (an extract): fridge, laptop, test device, lights, security light and
// telephones, 2 170 Wh.
func TestDailyNeed(t *testing.T) {
	s := &site.Site{}
	for _, l := range []struct{ w, h float64 }{{60, 6}, {30, 8}, {300, 1.5}, {80, 4}, {60, 2}, {60, 6}, {40, 8}} {
		s.Loads = append(s.Loads, site.Load{Label: "a load", PowerW: l.w, HoursPerDay: l.h, Priority: 1})
	}
	assert.InDelta(t, 2170, needWh(usesOf(s)), 1e-9)
}

// A load begins at sunset where the site says so, or else where its name says that it is a
// lamp; and an evening's hours end after midnight, on the next day.
func TestTimesOfUse(t *testing.T) {
	s := site.Demo()
	s.Loads = []site.Load{
		{Label: "Night lamp", PowerW: 10, HoursPerDay: 9, Priority: 1}, {Label: "telephones", PowerW: 5, HoursPerDay: 4, Priority: 2},
		{Label: "film show", PowerW: 30, HoursPerDay: 2, Priority: 3, Used: site.Evening}, {Label: "lamp of the microscope", PowerW: 5, HoursPerDay: 3, Priority: 4, Used: site.ByDay},
	}
	var evening []bool
	for _, u := range usesOf(s) {
		evening = append(evening, u.Evening)
	}
	assert.Equal(t, []bool{true, false, true, false}, evening)
	st := newStretch(climateOf(s.Place), afternoon.Add(-15*time.Hour), time.Hour, 48, usesOf(s))
	for k, u := range st.uses {
		first, second := 0.0, 0.0
		for i := range 24 {
			first += st.on[k][i]
			second += st.on[k][i+24]
		}
		assert.InDelta(t, u.Hours, first, 0.05, u.Label)
		assert.InDelta(t, u.Hours, second, 0.05, u.Label)
	}
	assert.Equal(t, 1.0, st.on[0][1], "the lamp of the evening before, after midnight")
	assert.Equal(t, 1.0, st.on[1][11])
	assert.Zero(t, st.on[1][20])
}

// The definition of IEEE 1013: 5 kWh/m2 a day and 4 A against 16 Ah a day are 1.25.
func TestArrayToLoad(t *testing.T) {
	assert.InDelta(t, 1.25, ArrayToLoad(5, 4, 16), 1e-12)
}

// What a wire carries never falls with its section; 2.5 mm2 carries 23 A and 6 mm2 38 A (IEC
// 60364-5-52, method B2, from memory).
func TestAmpacity(t *testing.T) {
	assert.Equal(t, 23.0, Ampacity(2.5))
	assert.Equal(t, 38.0, Ampacity(6))
	last := 0.0
	for mm2 := 0.2; mm2 < 120; mm2 += 0.1 {
		a := Ampacity(mm2)
		assert.GreaterOrEqual(t, a, last)
		last = a
	}
}

// A site that keeps all rules, and one that breaks each of them.
func TestChecks(t *testing.T) {
	judged := func(change func(s *site.Site)) map[string]Check {
		s := site.Demo()
		change(s)
		in, draws := unread(t, s, 8)
		l := newLooker(in, draws, afternoon, Change{})
		y := Year{Worst: 7, NeedWh: needWh(l.uses)}
		y.Months[6].SunH.P50 = 5
		byID := map[string]Check{}
		for _, c := range l.checks(&y) {
			byID[c.ID] = c
		}
		return byID
	}
	for id, c := range judged(func(s *site.Site) { s.Battery.CapacityAh = 150 }) {
		assert.True(t, c.Good, "%s is %g", id, c.Value)
	}
	bad := judged(func(s *site.Site) {
		s.Battery.CapacityAh, s.Controller.RatedA = 12, 5
		s.Array.CableM, s.LoadWiring.CableM, s.Battery.CableM = 40, 40, 10
		s.Array.FuseA, s.Battery.FuseA, s.LoadWiring.FuseA = 63, 63, 63
		s.Loads[0].PowerW = 100
	})
	for _, id := range []string{"array-to-load", "autonomy", "charge-rate", "controller-current", "array-cable", "load-cable", "battery-cable", "array-fuse", "battery-fuse", "load-fuse"} {
		assert.False(t, bad[id].Good, id)
	}
	// 5 h of 5.56 A over 100·5/12 + 40/12 + 36/12 + 0.2 Ah.
	assert.InDelta(t, 5*5.56/(576./12+0.192), bad["array-to-load"].Value, 1e-3)
	assert.InDelta(t, 1.25*2*2.97, bad["controller-current"].Value, 1e-9)
	assert.False(t, judged(func(s *site.Site) { s.Battery.FuseA = 0 })["battery-no-fuse"].Good)
	// 22.1 V · (1 + 0.0032 · 35 K) = 24.6 V.
	cold := func(most float64) Check {
		return judged(func(s *site.Site) { s.Controller.InputV = most })["cold-voltage"]
	}
	assert.True(t, cold(25).Good && cold(25).Known)
	assert.False(t, cold(24).Good)
	assert.False(t, cold(0).Known, "not in the file: it is left to compare")
}

// Cycles to the end of a battery: 500 of 80 % and more of shallower ones, none beyond its life
// on the shelf, and a warm room halves that (typical of data sheets, from memory).
func TestLife(t *testing.T) {
	assert.InDelta(t, 1/(365./500+0.1), lifeYears(site.Flooded, 0.8, 20, 0), 1e-9)
	assert.InDelta(t, lifeYears(site.Gel, 0.001, 20, 0)/2, lifeYears(site.Gel, 0.001, 30, 0), 0.3)
	last := 100.0
	for d := 0.05; d <= 1; d += 0.05 {
		years := lifeYears(site.AGM, d, 25, 0)
		assert.Less(t, years, last)
		last = years
	}
	assert.Greater(t, lifeYears(site.LFP, 0.5, 25, 0), lifeYears(site.AGM, 0.5, 25, 0))
}

// A sound system whose loads take more than its array can give is too small; the same with
// a fault is told the fault.
func TestTooSmall(t *testing.T) {
	s := site.Demo()
	for i := range s.Loads {
		s.Loads[i].HoursPerDay, s.Loads[i].PowerW = 12, 25
	}
	_, draws := unread(t, s, 40)
	sound := draws[:0:0]
	for _, d := range draws {
		if len(d.Conditions) == 0 {
			sound = append(sound, d)
		}
	}
	o, text := look(t, s, sound, afternoon, Change{})
	assert.Equal(t, "array", o.TooSmall)
	assert.Contains(t, text, "too small for its loads")
	assert.NotEmpty(t, o.Helps)
	best := o.Helps[0]
	part, _ := o.Year.Missed()
	assert.Less(t, best.Missing, part)
	again, _ := look(t, s, sound, afternoon, best.Change)
	assert.InDelta(t, best.Missing, again.Year.Months[o.Year.Worst-1].Missing, 1e-9, "what was said of the change comes true")
	o, text = look(t, s, withFault("array-open", s, sound), afternoon, Change{})
	assert.Empty(t, o.TooSmall)
	assert.NotContains(t, text, "too small for its loads")
	var more Help
	o, _ = look(t, s, sound, afternoon, Change{})
	for _, h := range o.Helps {
		if h.ID == "more-strings" {
			more = h
		}
	}
	require.NotZero(t, more.Change.Strings)
	enough, _ := look(t, s, sound, afternoon, more.Change)
	bad := enough.Year.Months[o.Year.Worst-1]
	assert.GreaterOrEqual(t, bad.YieldWh.P50, 0.97*ratioLeast*bad.NeedWh.P50, "so many strings are enough")

	dim := site.Demo()
	dim.Battery.CapacityAh = 8
	dim.Loads = []site.Load{{Label: "lamps", PowerW: 20, HoursPerDay: 9, Priority: 1}}
	o, text = look(t, dim, sound, afternoon, Change{})
	assert.Equal(t, "battery", o.TooSmall)
	assert.Contains(t, text, "Nothing is broken, but the battery is too small for its loads")
	small, _ := look(t, site.Demo(), sound, afternoon, Change{})
	assert.Empty(t, small.TooSmall, "166 Wh a day from 100 W")
}

// What was tried is told with its size.
func TestChangeText(t *testing.T) {
	s := site.Demo()
	assert.Empty(t, Change{}.Text(s))
	assert.Equal(t, []string{"take out: radio", "use about noon, not in the evening: ward lamps", "use from sunset on: phone charging", "repair what was found", "clean the modules", "+2 strings of modules (50 W each)", "a new, larger battery (100 Ah)", "an array cable of 6 mm2"},
		Change{Without: []string{"radio"}, AtNoon: []string{"ward lamps"}, InEvening: []string{"phone charging"}, Repaired: true, Clean: true, Strings: 2, CapacityAh: 100, ArrayMM2: 6}.Text(s))
	assert.Equal(t, []string{"-1 strings of modules (50 W each)", "a new battery of 60 Ah"}, Change{Strings: -1, CapacityAh: 60}.Text(s))
	assert.Equal(t, []string{"one more string of modules (50 W)", "a new battery of the same size (80 Ah)"}, Change{Strings: 1, NewBattery: true}.Text(s))
}
