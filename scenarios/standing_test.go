package scenarios

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
)

// A reading that moves no condition but tells of the state is not called telling nothing.
func TestQuestionCountsTheState(t *testing.T) {
	with := func(held, full, spread float64) *belief.Result {
		return &belief.Result{
			Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.8}, {ID: condition.ArrayOpen, P: 0.2}},
			State:      belief.State{Regulating: held, ChargeLevel: belief.Interval{Mean: full, P05: full - spread, P95: full + spread}},
		}
	}
	w := words().Session
	q := ask("battery_v 14.4 V", with(0.2, 0.6, 0.3), with(0.9, 0.6, 0.3))
	require.Len(t, q.right, 1)
	assert.Equal(t, w.TellsState["regulating"], q.choices[q.right[0]])
	q = ask("rest_v 12.6 V", with(0.2, 0.6, 0.3), with(0.2, 0.6, 0.1))
	require.Len(t, q.right, 1)
	assert.Equal(t, w.TellsState["full"], q.choices[q.right[0]], "narrower is told too")
	q = ask("load_v 12.6 V", with(0.2, 0.6, 0.3), with(0.22, 0.61, 0.29))
	assert.Equal(t, w.TellsLittle, q.choices[q.right[0]])
}

// Who believes an answer to be p probable expects most points by saying what is nearest
// to p: the score of the standing questions is proper.
func TestStandingQuestionsAreScoredProperly(t *testing.T) {
	for _, of := range standingQuestions() {
		first := of.Answer[0].ID
		points := map[string][]float64{} // of each choice, by what is so
		for _, a := range of.Answer {
			points[a.ID] = askStanding(&of, a.ID).points
		}
		expect := func(p float64) (best int) {
			most := -1.0
			for i := range points[first] {
				x := 0.0
				for _, a := range of.Answer {
					weight := (1 - p) / float64(len(of.Answer)-1)
					if a.ID == first {
						weight = p
					}
					x += weight * points[a.ID][i]
				}
				if x > most {
					best, most = i, x
				}
			}
			return best
		}
		assert.Equal(t, 0, expect(0.97), "%s: sure", of.ID)
		assert.Equal(t, 1, expect(0.76), "%s: likely", of.ID)
		even := 1 / float64(len(of.Answer))
		assert.Equal(t, len(points[first])-1, expect(even), "%s: cannot tell", of.ID)
		// by hand, for two answers: 1 - ((1-0.95)² + 0.05²)/2
		if len(of.Answer) == 2 {
			assert.InDelta(t, 0.9975, points[first][0], 1e-9)
			assert.InDelta(t, 0.75, points[first][4], 1e-9)
		}
	}
}

// The right answers of known cases, by what their scenario files say.
func TestStandsAt(t *testing.T) {
	for id, want := range map[string]map[string]string{
		"no-charge-since-storm": {"charge": "no", "held": "no", "well": "no", "use": "no"},
		"full-by-noon":          {"light": "yes", "charge": "yes", "held": "yes", "full": "high", "well": "yes", "use": "yes"},
		"by-night":              {"light": "no", "charge": "no", "held": "no", "use": "no"},
	} {
		sc, ok := ByID(id)
		require.True(t, ok, id)
		got := standsAt(sc.Bench(), sc.Truth())
		for q, answer := range want {
			assert.Equal(t, answer, got[q], "%s: %s", id, q)
		}
	}
}
