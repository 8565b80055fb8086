package scenarios

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// stated are pieces of the sentences that name a state, with its probability. They are
// typed here once more, so that a pattern that names what it does not ask for is found.
var stated = map[string]func(r *belief.Result) float64{
	"holding back":               func(r *belief.Result) float64 { return r.State.Regulating },
	"is held back":               func(r *belief.Result) float64 { return r.State.Regulating },
	"nothing is held back":       func(r *belief.Result) float64 { return 1 - r.State.Regulating },
	"charge reaches":             func(r *belief.Result) float64 { return r.State.Charging },
	"no charge reaches":          func(r *belief.Result) float64 { return 1 - r.State.Charging },
	"gives reaches the bat":      func(r *belief.Result) float64 { return r.State.Charging },
	"there is light":             func(r *belief.Result) float64 { return r.State.Daylight },
	"dark":                       func(r *belief.Result) float64 { return 1 - r.State.Daylight },
	"cut off":                    func(r *belief.Result) float64 { return r.State.LoadsCut },
	"prove themselves":           func(r *belief.Result) float64 { return r.State.AsDesigned },
	"wrong way round":            func(r *belief.Result) float64 { return r.Of(condition.ArrayReversed) },
	"array circuit is open":      func(r *belief.Result) float64 { return r.Of(condition.ArrayOpen) },
	"its circuit is open":        func(r *belief.Result) float64 { return r.Of(condition.BatteryOpen) },
	"switched itself off":        func(r *belief.Result) float64 { return r.Of(condition.BatteryOff) },
	"does not pass it":           func(r *belief.Result) float64 { return r.Of(condition.ChargePathOpen) },
	"controller does not work":   func(r *belief.Result) float64 { return r.Of(condition.ControllerDead) },
	"is set too low":             func(r *belief.Result) float64 { return r.Of(condition.SetPointLow) },
	"whether power is held back": func(*belief.Result) float64 { return 1 },
}

// named are the pieces of a sentence that name a state, each piece within another left out.
func named(text string) (list []string) {
	for piece := range stated {
		if !strings.Contains(text, piece) {
			continue
		}
		within := false
		for longer := range stated {
			within = within || longer != piece && strings.Contains(longer, piece) && strings.Contains(text, longer)
		}
		if !within {
			list = append(list, piece)
		}
	}
	return list
}

// sentences is how many plants CI tries, with new ones each time. More are tried by
//
//	AMPWALK_CI=1 go test ./scenarios -run TestTogether -args -sentences 2000
var sentences = flag.Int("sentences", 250, "plants that TestTogetherAgreesWithTheBelief tries in CI")

// The sentence after a reading agrees with the belief, on random plants and readings: it
// names no state below one half, and a contradiction only where a reading lies outside
// what the others make expected. It has at most 25 words.
func TestTogetherAgreesWithTheBelief(t *testing.T) {
	told, against := 0, 0
	for i := range effort.Of(6, 40, *sentences) {
		seed := effort.Seed + uint64(i)
		r := rand.New(rand.NewPCG(seed, 7))
		sc := Generate(1+i%Levels, seed)
		_, keys := takeable(sc)
		play, err := Random(sc, belief.Infer, 1+r.IntN(len(keys)), seed)
		require.NoError(t, err)
		last := play.Taken[len(play.Taken)-1].Key
		set, b := play.Input.Readings, play.Belief
		says := visiting.Together(sc.Site, b, nil, set, last)
		where := fmt.Sprintf("%s: %s", sc.ID, says.Text)
		t.Log(where)
		if set.Measured() == 0 { // what lamps and a battery's own display show is not measured
			require.Empty(t, says.Text, where)
			continue
		}
		require.NotEmpty(t, says.Text, where)
		assert.LessOrEqual(t, len(strings.Fields(says.Text)), 25, where)
		told++
		if says.Not != "" {
			against++
			assertContradiction(t, sc, b, set, says.Not, where)
			continue
		}
		text := strings.ToLower(says.Text)
		for _, piece := range named(text) {
			assert.GreaterOrEqual(t, stated[piece](b), 0.5, "%s: %s", where, piece)
		}
		for _, c := range condition.All() {
			if c.ID != condition.Sound && strings.Contains(text, ": "+strings.ToLower(c.Title)) {
				assert.GreaterOrEqual(t, b.Of(c.ID), 0.5, "%s: %s", where, c.ID)
			}
		}
	}
	t.Logf("%d sentences, %d of them contradictions", told, against)
}

func assertContradiction(t *testing.T, sc *Scenario, b *belief.Result, set *reading.Set, k reading.Key, where string) {
	t.Helper()
	if x, ok := set.Numbers[k]; ok {
		assert.False(t, b.Expect[k].Holds(x, 0), where)
		assert.GreaterOrEqual(t, b.Suspects[0].P, 0.5, where)
		return
	}
	label, lamp := k.LampLabel()
	require.True(t, lamp, where)
	l, ok := sc.Site.Lamp(label)
	require.True(t, ok, where)
	least := 1.0
	for _, look := range l.Looks {
		if look.Look != set.Words[k] {
			continue
		}
		for _, m := range look.Means {
			switch m {
			case "charging":
				least = min(least, b.State.Charging)
			case "not-charging":
				least = min(least, 1-b.State.Charging)
			case "regulating":
				least = min(least, b.State.Regulating)
			case "not-regulating":
				least = min(least, 1-b.State.Regulating)
			case "loads-live":
				least = min(least, 1-b.State.LoadsCut)
			}
		}
	}
	assert.LessOrEqual(t, least, 0.1, where)
}
