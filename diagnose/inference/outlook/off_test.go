package outlook

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// weakEvening is a sound site whose lamps last the night and whose fridge, kept less long,
// takes too much for that.
func weakEvening(t *testing.T) (*site.Site, []belief.Draw) {
	s := site.Demo()
	s.Loads = []site.Load{{Label: "lamps", PowerW: 20, HoursPerDay: 5, Priority: 1}, {Label: "fridge", PowerW: 60, HoursPerDay: 8, Priority: 2}}
	_, draws := unread(t, s, 60)
	var sound []belief.Draw
	for _, d := range draws {
		if len(d.Conditions) == 0 {
			d.SoC, d.Irradiance, d.LatchedOff, d.InverterLatched = 0.75, 500, false, false
			sound = append(sound, d)
		}
	}
	require.NotEmpty(t, sound)
	return s, sound
}

// What is told to be switched off by an hour keeps the rest on until the morning, run once
// more by itself; a quarter of an hour later it does not. A longer time for the fridge never
// makes the lamps last more often.
func TestSwitchOff(t *testing.T) {
	s, draws := weakEvening(t)
	l := newLooker(belief.Input{Site: s}, draws, afternoon, Change{})
	n := l.tonight()
	off := n.Off
	require.Equal(t, []string{"fridge"}, off.Labels)
	require.Equal(t, []string{"lamps"}, off.Keeps)
	assert.GreaterOrEqual(t, off.Sure, planned)
	assert.True(t, off.By.After(n.From) && off.By.Before(n.Rises), off.By)

	groups := groupsOf(l.uses)
	nights := l.nights(&n, groups)
	last := 1.1
	for first := range int(n.Rises.Sub(n.From) / tonightStep) {
		p := l.lastShare(&n, nights, groups[1].watts, first, groups[0].watts)
		assert.LessOrEqual(t, p, last)
		assert.Equal(t, !n.From.Add(time.Duration(first)*tonightStep).After(off.By), p >= planned, "%d steps, %.2f", first, p)
		last = p
	}
	// The fridge's last minute is no later than the end of both together would be, for most.
	assert.Less(t, off.By.Sub(n.From).Hours(), n.Sets[1].Hours.P95)
	assert.False(t, math.IsInf(n.Sets[1].Hours.P50, 1))

	o, text := look(t, s, draws, afternoon, Change{})
	assert.Equal(t, off.Labels, o.Tonight.Off.Labels)
	assert.Contains(t, text, "at the latest, switch off: fridge. This then lasts until the morning: lamps (")
}

// Nothing is switched off where all lasts; where nothing does, that is said; and of loads
// that matter alike the person chooses.
func TestNothingOrAllToSwitchOff(t *testing.T) {
	s, draws := weakEvening(t)
	for k := range draws {
		draws[k].SoC = 1
	}
	little := *s
	little.Loads = []site.Load{{Label: "lamps", PowerW: 2, HoursPerDay: 5, Priority: 1}}
	_, text := look(t, &little, draws, afternoon, Change{})
	assert.Contains(t, text, "Nothing has to be switched off tonight.")

	alike := *s
	alike.Loads = []site.Load{{Label: "lamps", PowerW: 20, HoursPerDay: 5, Priority: 1}, {Label: "fridge", PowerW: 60, HoursPerDay: 8, Priority: 1}}
	_, text = look(t, &alike, draws, afternoon, Change{})
	assert.Contains(t, text, "Lasting if used alone: lamps (")

	for k := range draws {
		draws[k].SoC = 0.2
	}
	o, text := look(t, s, draws, afternoon.Add(8*time.Hour), Change{})
	assert.Empty(t, o.Tonight.Off.Keeps)
	assert.Contains(t, text, "Leave off all that can wait: even lamps may not last until the morning.")
}

// An open battery is not called charged, and no sunrise is said to carry loads that get no
// power; a month without sun is not blamed on the size of the array.
func TestPlainWordsForHardCases(t *testing.T) {
	s, draws := weakEvening(t)
	apart, text := look(t, s, withFault(condition.BatteryOpen, s, draws), afternoon, Change{})
	assert.Contains(t, text, "The battery is not connected, so its charge stays as it is.")
	assert.NotContains(t, text, "the charge stays above")
	assert.NotContains(t, text, "the array carries all listed loads from")
	assert.Empty(t, apart.OffText())

	north := *s
	north.Place = site.Place{LatitudeDeg: 71.3, LongitudeDeg: 25, UTCOffsetH: 2, TiltDeg: 60, BearingDeg: 180}
	dark := make([]belief.Draw, len(draws))
	copy(dark, draws)
	for k := range dark {
		dark[k].Irradiance = 0
	}
	o, text := look(t, &north, dark, time.Date(2026, 12, 20, 12, 0, 0, 0, time.UTC), Change{})
	assert.Equal(t, "array", o.TooSmall)
	assert.Contains(t, text, "the sun gives too little in this month for an array of any size")
	assert.Contains(t, text, "The sun does not rise. What is in the battery is all there is")
	assert.NotContains(t, text, "while the sun is high")
	assert.Contains(t, []time.Month{time.December, time.January}, o.Year.Worst)

	idle := *s
	idle.Loads = []site.Load{{Label: "lamps", PowerW: 20, Priority: 1}}
	_, text = look(t, &idle, draws, afternoon, Change{})
	assert.Contains(t, text, "The listed loads have no hours of use")
}

// A load on the load wiring gets its power whether or not the inverter is on.
func TestLoadsBesideAnInverterThatIsOff(t *testing.T) {
	s, draws := weakEvening(t)
	s.Inverter = &site.Inverter{RatedW: 300, IdleW: 4, Efficiency: 0.85, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, FuseA: 40, CableM: 1, CableMM2: 16}
	s.Loads[1].From = site.FromInverter
	for k := range draws {
		draws[k].InverterW, draws[k].InverterOn = 40, false
	}
	n := newLooker(belief.Input{Site: s}, draws, afternoon, Change{}).now()
	assert.Equal(t, "lamps", n.Loads[0].Label)
	assert.Greater(t, n.Loads[0].Runs, 0.95)
}

// Hours on both sides of the beginning are one span of the clock.
func TestSpansGoRoundTheClock(t *testing.T) {
	var x LoadDay
	o := &Outlook{Day: Day{From: time.Date(2026, 11, 20, 16, 0, 0, 0, time.UTC)}}
	for h := range x.Hours {
		x.Hours[h] = FromBattery
		if at := (16 + h) % 24; at >= 6 && at < 17 {
			x.Hours[h] = FromArray
		}
	}
	assert.Equal(t, "06-17 h", o.spans(&x, FromArray))
	assert.Equal(t, "17-06 h", o.spans(&x, FromBattery))
	assert.Empty(t, o.spans(&x, NotToday))
}

// A load that was on at the visit and is taken out draws nothing more, and no other load
// draws more for it.
func TestTakenOutWhileOn(t *testing.T) {
	s, draws := weakEvening(t)
	for k := range draws {
		draws[k].LoadW = 78
	}
	set := reading.NewSet()
	set.LoadsOn = []string{"lamps", "fridge"}
	in := belief.Input{Site: s, Readings: set}
	before := Look(in, draws, afternoon, Change{})
	after := Look(in, draws, afternoon, Change{Without: []string{"fridge"}})
	// Of 78 W the lamps draw 20 W of 80.
	assert.InDelta(t, 58, before.Now.TakenW.P50-after.Now.TakenW.P50, 6)
	assert.Equal(t, before.Tonight.Loads[0].Labels, after.Tonight.Loads[0].Labels)
	assert.InDelta(t, before.Tonight.Loads[0].Morning, after.Tonight.Loads[0].Morning, 0.1, "the lamps by themselves last as long")
	for m := range before.Year.Months {
		assert.LessOrEqual(t, after.Year.Months[m].Missing, before.Year.Months[m].Missing+1e-9)
	}
	for k := range draws {
		assert.Equal(t, 78., draws[k].LoadW, "what was given stays as it was")
	}
}
