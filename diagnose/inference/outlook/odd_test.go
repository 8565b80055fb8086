package outlook

import (
	"encoding/json"
	"fmt"
	"reflect"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
)

// everything is all that an outlook says.
func everything(o *Outlook) []string {
	var all []string
	for _, list := range [][]string{o.NowText(), o.TonightText(), o.PlanText(), o.AheadText(), o.HelpText(20), {o.SmallText(), o.NightLine()}} {
		all = append(all, list...)
	}
	for _, c := range o.CheckLines() {
		all = append(all, c.Title, c.Value, c.Rule, c.Verdict, c.Source)
	}
	return all
}

var noNumber = regexp.MustCompile(`NaN|Inf|%!|<nil>|-0 |-0\.0 `)

// look is an outlook of few draws, of which all words are checked.
func look(t *testing.T, s *site.Site, draws []belief.Draw, at time.Time, ch Change) (*Outlook, string) {
	t.Helper()
	o := Look(belief.Input{Site: s}, draws, at, ch)
	text := strings.Join(everything(o), "\n")
	assert.NotRegexp(t, noNumber, text)
	assert.NotContains(t, text, "ten days")
	data, err := json.Marshal(o)
	require.NoError(t, err)
	assert.NotContains(t, string(data), "NaN")
	return o, text
}

// What each kind of site and each fault is told, by day, in the evening and at night: figures
// and sentences, nothing that is no number, and "as designed" never.
func TestEveryFaultIsToldSomething(t *testing.T) {
	for name, s := range kinds() {
		draws := unreadKinds()[name][:6]
		for _, c := range condition.Applicable(s) {
			as := draws
			if c.ID != condition.Sound {
				as = withFault(c.ID, s, draws)
			}
			l := newLooker(belief.Input{Site: s}, as, afternoon.Add(6*time.Hour), Change{})
			o := &Outlook{At: l.at, Uses: l.uses, Cuts: s.Controller.LoadOutput, Lead: s.Battery.Chemistry.LeadAcid()}
			o.Fault, o.Sure = leaderOf(as)
			o.Now, o.Tonight, o.Day = l.now(), l.tonight(), l.day()
			o.Week = l.week()
			if c.ID != condition.Sound {
				assert.Equal(t, c.ID, o.Fault)
			}
			var all []string
			for _, list := range [][]string{o.NowText(), o.TonightText(), o.PlanText()} {
				all = append(all, list...)
			}
			text := strings.Join(all, "\n")
			assert.NotRegexp(t, noNumber, text, "%s, %s", name, c.ID)
			assert.NotContains(t, text, "as designed")
			if c.ID == condition.BatteryOpen || c.ID == condition.BatteryOff || c.ID == condition.LoadOpen {
				if c.ID != condition.BatteryOpen || s.Controller.LoadOutput {
					assert.Contains(t, text, "no power, as things are", "%s, %s", name, c.ID)
				}
			}
		}
	}
}

// What a fault does to the plan: no charge, no hours from the array; a battery that is
// worn lasts less; a controller that does not stop is not called spare power.
func TestFaultsChangeThePlan(t *testing.T) {
	s := site.Demo()
	for i := range s.Loads {
		s.Loads[i].PowerW *= 3
	}
	_, draws := unread(t, s, 60)
	sound := draws[:0:0]
	for _, d := range draws {
		if len(d.Conditions) == 0 {
			d.Irradiance, d.SoC = 700, 0.85
			sound = append(sound, d)
		}
	}
	noon := afternoon.Add(-3 * time.Hour)
	good, _ := look(t, s, sound, noon, Change{})
	hours := func(o *Outlook, source Source) (n int) {
		for _, l := range o.Day.Loads {
			for _, x := range l.Hours {
				if x == source {
					n++
				}
			}
		}
		return n
	}
	assert.Greater(t, hours(good, FromArray), 5)
	open, text := look(t, s, withFault(condition.ArrayOpen, s, sound), noon, Change{})
	assert.Zero(t, hours(open, FromArray))
	assert.Contains(t, text, "is all there is")
	worn, text := look(t, s, withFault(condition.BatteryWorn, s, sound), noon, Change{})
	assert.Less(t, worn.Tonight.Sets[0].Hours.P50, good.Tonight.Sets[0].Hours.P50)
	assert.Less(t, hours(worn, FromBattery), hours(good, FromBattery))
	assert.Contains(t, text, "worn")
	_, text = look(t, s, withFault(condition.ChargePathStuck, s, sound), noon, Change{})
	assert.Contains(t, text, "boils the battery")
	mended, _ := look(t, s, withFault(condition.ArrayOpen, s, sound), noon, Change{Repaired: true})
	assert.Equal(t, hours(good, FromArray), hours(mended, FromArray))
	dirty := withFault(condition.ArraySoiled, s, sound)
	before, _ := look(t, s, dirty, noon, Change{})
	after, _ := look(t, s, dirty, noon, Change{Clean: true})
	assert.Greater(t, after.Now.CouldW.P50, 1.1*before.Now.CouldW.P50)
}

// Sites that are hardly any.
func TestOddSites(t *testing.T) {
	for name, change := range map[string]func(s *site.Site){
		"no loads":      func(s *site.Site) { s.Loads = nil },
		"loads of no W": func(s *site.Site) { s.Loads = []site.Load{{Label: "lamp", PowerW: 0.05, Priority: 1}} },
		"day and night": func(s *site.Site) { s.Loads = []site.Load{{Label: "fridge", PowerW: 20, HoursPerDay: 24, Priority: 1}} },
		"polar night": func(s *site.Site) {
			s.Place = site.Place{LatitudeDeg: 71.3, LongitudeDeg: -156.8, UTCOffsetH: -9, TiltDeg: 60, BearingDeg: 180}
		},
		"south pole":     func(s *site.Site) { s.Place = site.Place{LatitudeDeg: -90, TiltDeg: 90} },
		"no sun hours":   func(s *site.Site) { s.Place.SunHours = make([]float64, 12) },
		"one small cell": func(s *site.Site) { s.Battery.CapacityAh = 0.5 },
		"huge battery":   func(s *site.Site) { s.Battery.CapacityAh = 20000 },
	} {
		t.Run(name, func(t *testing.T) {
			s := site.Demo()
			change(s)
			_, draws := unread(t, s, 8)
			for _, at := range []time.Time{afternoon, time.Date(2026, 12, 31, 23, 30, 0, 0, time.UTC), time.Date(2026, 6, 21, 12, 0, 0, 0, time.UTC)} {
				o, text := look(t, s, draws, at, Change{})
				if name == "no loads" {
					assert.Contains(t, text, "No loads are listed")
				}
				if name == "polar night" && at.Month() == time.December {
					assert.Contains(t, text, "The sun does not rise")
					assert.Less(t, o.Year.Months[11].YieldWh.P95, 1.0)
				}
			}
		})
	}
	s := site.Demo()
	_, draws := unread(t, s, 8)
	for k := range draws { // an empty battery
		draws[k].SoC = 0
	}
	o, _ := look(t, s, draws, afternoon.Add(6*time.Hour), Change{})
	assert.Zero(t, o.Tonight.Sets[0].Hours.P50)
}

// Every condition has a line, every rule and every change its words.
func TestWordsAreComplete(t *testing.T) {
	w := words()
	for _, part := range []any{w.Clock, w.Now, w.Tonight, w.Plan, w.Ahead, w.Small, w.Verdict, w.Helps, w.Paper} {
		for v, i := reflect.ValueOf(part), 0; i < v.NumField(); i++ {
			assert.False(t, v.Field(i).IsZero(), "%s is missing among %s", v.Type().Field(i).Name, v.Type())
		}
	}
	for _, c := range condition.All() {
		assert.NotEmpty(t, w.Fault[c.ID], c.ID)
	}
	assert.Len(t, w.Fault, len(condition.All()))
	assert.Len(t, w.Months, 12)
	seen := map[string]bool{"battery-no-fuse": true}
	for name, s := range kinds() {
		l := newLooker(belief.Input{Site: s}, unreadKinds()[name][:4], afternoon, Change{})
		y := l.year()
		for _, c := range l.checks(&y) {
			seen[c.ID] = true
			assert.NotEmpty(t, w.Check[c.ID].Title, c.ID)
		}
		for _, h := range l.ideas(Change{}, &y) {
			assert.NotEmpty(t, w.Help[h.ID], h.ID)
		}
	}
	for id, c := range w.Check {
		assert.True(t, seen[id], "no check %s", id)
		assert.NotEmpty(t, c.Rule)
		assert.NotEmpty(t, c.Source)
		assert.NotZero(t, c.Scale)
	}
	assert.Zero(t, w.Now.Free[len(w.Now.Free)-1].From, "there is a word for every probability")
	for p, want := range map[float64]string{1: "carried by the array (above 99 %)", 0.8: "most likely carried by the array (80 %)", 0.5: "(50 % that it need not)", 0.1: "it takes from the battery (90 %)", 0: "(above 99 %)"} {
		assert.Contains(t, gradeOf(w.Now.Free, p), want)
	}
}

func BenchmarkWeek(b *testing.B) {
	s := site.Demo()
	in, draws := unread(b, s, DrawsOf)
	l := newLooker(in, draws, afternoon, Change{})
	for b.Loop() {
		l.week()
	}
}

func BenchmarkLook(b *testing.B) {
	s := site.Demo()
	in, draws := unread(b, s, DrawsOf)
	for b.Loop() {
		Look(in, draws, afternoon, Change{})
	}
}

func ExampleLook() {
	s := site.Demo()
	in := belief.Input{Site: s}
	draws, _ := belief.Draws(in, 20)
	o := Look(in, draws, afternoon, Change{})
	fmt.Println(len(o.Week.Level) > 7, o.Year.NeedWh)
	// Output: true 166
}
