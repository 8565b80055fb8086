package condition

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// The rule by hand: two independent actions, tried one after the other until one
// mends it, cost least on average with the greater p/c first. 10 min at 0.5 and
// then 30 min at 0.8 cost 10 + 0.5·30 = 25 min, the other way 30 + 0.2·10 = 32 min.
func TestOrderOfActions(t *testing.T) {
	quick, slow := Action{Do: "quick", Minutes: 10, Helps: 0.5}, Action{Do: "slow", Minutes: 30, Helps: 0.8}
	risky := Action{Do: "risky", Minutes: 10, Helps: 0.5, Risk: 3}
	safe := Action{Do: "safe", Minutes: 60, Helps: 0.1, First: true}
	gel := Action{Do: "gel", Minutes: 1, Helps: 1, Chemistries: []site.Chemistry{site.Gel}}
	c := Condition{Actions: []Action{risky, slow, quick, gel, safe}}
	var got []string
	for _, a := range c.ActionsFor(site.AGM) {
		got = append(got, a.Do)
	}
	assert.Equal(t, []string{"safe", "quick", "slow", "risky"}, got)
}

// Nobody throws a battery away that may be good (common practice: the load test
// comes before the new battery).
func TestNewBatteryOnlyAfterTheLoadTest(t *testing.T) {
	tests := []struct {
		p      float64
		tested bool
		want   bool
	}{{0.6, false, false}, {0.6, true, false}, {0.95, false, false}, {0.95, true, true}}
	for _, tt := range tests {
		taken := func(k reading.Key) bool { return k == reading.StepPostV && tt.tested }
		replace := false
		for _, a := range Of(BatteryWorn).ToDo(site.Flooded, tt.p, taken) {
			replace = replace || a.Done == "the battery is replaced"
		}
		assert.Equal(t, tt.want, replace, tt)
	}
}

// In ordinary cases one looks before one takes anything apart, and what makes
// safe comes first (common practice).
func TestFirstActions(t *testing.T) {
	for id, want := range map[ID]string{
		ArrayOpen: "Look at the array switch", ArrayJoint: "Look for browned", ChargePathStuck: "Isolate the array now",
		BatteryOff: "Isolate the array", BatteryOpen: "Isolate the array first", LoadOpen: "Switch the loads off and look",
		ControllerDead: "Restart", BatteryJoint: "Look for loose", LoadExcess: "Switch the loads off one by one",
	} {
		assert.Contains(t, Of(id).ActionsFor(site.LFP)[0].Do, want)
	}
}
