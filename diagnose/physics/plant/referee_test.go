package plant_test

import (
	"fmt"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

type refereedReading struct {
	index plant.Index
	name  string
	amps  bool
}

// refereed are the readings that a circuit decides.
var refereed = []refereedReading{
	{plant.ArrayV, "array_v", false}, {plant.ModuleV, "module_v", false}, {plant.ArrayA, "array_a", true},
	{plant.BatteryV, "battery_v", false}, {plant.PostV, "post_v", false}, {plant.BatteryA, "battery_a", true},
	{plant.LoadV, "load_v", false}, {plant.LoadA, "load_a", true}, {plant.LoadEndV, "load_end_v", false},
	{plant.StandbyA, "standby_a", true}, {plant.OpenV, "open_v", false}, {plant.ShortA, "short_a", true},
	{plant.RestV, "rest_v", false}, {plant.StepPostV, "load_step.post_v", false},
}

// Agreement asked for: 99 % of all readings within 0.5 % or 10 mV or 10 mA.
const (
	relativeLimit = 0.005
	absoluteLimit = 0.010
	shareLimit    = 0.99
)

// ofTheParts are the conditions of parts that TestRefereeParts puts into its circuit, not this.
var ofTheParts = []condition.ID{
	condition.ArrayShort, condition.BlockWeak, condition.BatteryStringOpen, condition.InverterOff, condition.InverterStarved, condition.EarthFault,
}

func withoutParts(cs []condition.Condition) []condition.Condition {
	return slices.DeleteFunc(cs, func(c condition.Condition) bool { return slices.Contains(ofTheParts, c.ID) })
}

// drawTrials draws n trials, every kind of controller with every chemistry, at
// every kind of moment, and every condition that applies, some in pairs.
func drawTrials(tb testing.TB, seed uint64, n int) []*trial {
	d := dice{rand.New(rand.NewPCG(seed, 0))}
	kinds := []site.Kind{site.Series, site.Shunt, site.MPPT}
	chemistries := []site.Chemistry{site.Flooded, site.AGM, site.Gel, site.LFP}
	ids := withoutParts(condition.All())
	var trials []*trial
	for k := range n {
		s := d.site(kinds[k%3], chemistries[k/3%4])
		applicable := withoutParts(condition.Applicable(s))
		has := func(id condition.ID) bool {
			return slices.ContainsFunc(applicable, func(c condition.Condition) bool { return c.ID == id })
		}
		var at []condition.ID
		if id := ids[k*5%len(ids)].ID; has(id) {
			at = append(at, id)
		} else {
			at = append(at, condition.Sound)
		}
		if other := pick(d, applicable...).ID; k%4 == 0 && other != at[0] && other != condition.Sound {
			at = append(at, other)
		}
		trials = append(trials, d.trial(tb, s, pick(d, atNight, inDimLight, bySun, nearFull, nearFull, nearFull, runDown), at...))
	}
	return trials
}

func TestReferee(t *testing.T) {
	ngspice(t)
	trials := drawTrials(t, 1, effort.Of(0, 400, 900))
	verdicts := judge(t, trials)
	compared, far, unexplained := 0, 0, 0
	seen := map[string]int{}
	for k, tr := range trials {
		v := verdicts[k]
		var o plant.Out
		plant.New(tr.site, tr.minutes).Solve(&tr.u, &o)
		seen[regime(tr, v)]++
		for _, id := range tr.ids {
			seen[string(id)]++
		}
		for _, r := range refereed {
			if !v.has[r.index] {
				continue
			}
			compared++
			want, got := v.value[r.index], o.Value[r.index]
			require.False(t, math.IsNaN(got), "%s %s", tr.about, r.name)
			if !near(want, got) {
				far++
				why := explain(tr, v)
				if why == "" {
					why = "unexplained"
					unexplained++
				}
				t.Logf("#%d %s: %s is %.4f, by the circuit %.4f: %s%s", k, tr.about, r.name, got, want, why, states(v, &o))
			}
		}
	}
	t.Logf("%d plants, %d readings, %d (%.2f %%) further than %g %% and %g V or A", len(trials), compared, far, 100*float64(far)/float64(compared), 100*relativeLimit, absoluteLimit)
	assert.Less(t, float64(far), (1-shareLimit)*float64(compared))
	assert.Zero(t, unexplained)
	for _, what := range slices.Sorted(maps.Keys(seen)) {
		t.Logf("%-28s %d", what, seen[what])
	}
	for _, c := range withoutParts(condition.All()) {
		assert.GreaterOrEqual(t, seen[string(c.ID)], 5, c.ID)
	}
	for _, kind := range []site.Kind{site.Series, site.Shunt, site.MPPT} {
		for _, r := range regimes {
			assert.GreaterOrEqual(t, seen[string(kind)+" "+r], 5, "%s %s", kind, r)
		}
	}
}

// explain says where a difference comes from, "" if that is not known.
func explain(tr *trial, v *verdict) string {
	switch {
	case v.edge != "":
		return "a decision that hangs on a millivolt, on the " + v.edge
	case tr.u.Irradiance < 1:
		return "in starlight the leak that the circuit has across its bypass diodes counts"
	}
	return ""
}

var regimes = []string{"dark", "direct", "regulating", "no battery", "loads cut"}

// regime names the regime a trial is in; loads cut goes before the others.
func regime(tr *trial, v *verdict) string {
	r := 1
	switch {
	case v.cut:
		r = 4
	case !tr.hasBattery():
		r = 3
	case v.regulating:
		r = 2
	case tr.u.Irradiance < plant.DaylightFrom:
		r = 0
	}
	return string(tr.site.Controller.Kind) + " " + regimes[r]
}

func near(want, got float64) bool {
	d := math.Abs(want - got)
	return d <= absoluteLimit || d <= relativeLimit*math.Abs(want)
}

// states says in what state the two believe the plant, where they disagree.
func states(v *verdict, o *plant.Out) string {
	side := func(regulating, cut, live bool) string {
		return fmt.Sprintf("regulating %t, cut %t, live %t", regulating, cut, live)
	}
	a, b := side(o.Regulating, o.LoadsCut, o.LoadsLive), side(v.regulating, v.cut, v.live)
	if a == b {
		return ""
	}
	return fmt.Sprintf(" [%s | %s]", a, b)
}
