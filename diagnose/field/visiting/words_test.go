package visiting_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

func TestLikelihoodAndPercent(t *testing.T) {
	tests := []struct {
		p             float64
		word, percent string
	}{
		{1, "almost certain", "above 99 %"},
		{0.996, "almost certain", "above 99 %"},
		{0.95, "almost certain", "95 %"},
		{0.94, "very likely", "94 %"},
		{0.8, "very likely", "80 %"},
		{0.55, "likely", "55 %"},
		{0.25, "possible", "25 %"},
		{0.05, "less likely", "5 %"},
		{0.049, "very unlikely", "5 %"},
		{0.004, "very unlikely", "below 1 %"},
		{0, "very unlikely", "below 1 %"},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.word, visiting.Likelihood(tt.p), "%g", tt.p)
		assert.Equal(t, tt.percent, quantity.Percent(tt.p), "%g", tt.p)
	}
}

func TestLeading(t *testing.T) {
	now := &belief.Result{Conditions: []belief.Posterior{
		{ID: condition.ArrayOpen, P: 0.7}, {ID: condition.Sound, P: 0.2}, {ID: condition.CellShort, P: 0.06}, {ID: condition.LoadOpen, P: 0.04},
	}}
	before := &belief.Result{Conditions: []belief.Posterior{{ID: condition.Sound, P: 0.6}, {ID: condition.ArrayOpen, P: 0.1}}}
	got := visiting.Leading(now, before, 3, 0.05)
	require.Len(t, got, 3)
	assert.Equal(t, condition.ArrayOpen, got[0].ID)
	assert.Equal(t, condition.Of(condition.ArrayOpen).Title, got[0].Title)
	assert.InDelta(t, 0.6, got[0].Change, 1e-12)
	assert.InDelta(t, -0.4, got[1].Change, 1e-12)
	assert.InDelta(t, 0.06, got[2].Change, 1e-12, "it was not there before")
	assert.Len(t, visiting.Leading(now, nil, 9, 0.05), 3, "those below the floor are left out")
	assert.Len(t, visiting.Leading(now, nil, 9, 0.9), 1, "the leader never is")
	assert.Zero(t, visiting.Leading(now, nil, 1, 0)[0].Change)
}

func TestStateSentences(t *testing.T) {
	s := site.Demo()
	r := &belief.Result{State: belief.State{
		Daylight: 0.99, Charging: 0.03, Regulating: 0.5, LoadsCut: 0.9, AsDesigned: 0.1,
		ChargeLevel: belief.Interval{Mean: 0.62, P05: 0.55, P95: 0.7},
		SpareW:      belief.Interval{Mean: 21, P05: 0, P95: 44},
		HoursToCut:  belief.Interval{Mean: 14, P05: 1.2, P95: 90},
	}}
	assert.Equal(t, []string{
		"There is light on the array (almost certain, 99 %).",
		"No current from the array reaches the battery side (almost certain, 97 %).",
		"It is not clear whether the controller holds back power (probability 50 %).",
		"The load output is off because the battery is low (very likely, 90 %).",
		"Something does not work as designed (very likely, 90 %).",
		"The battery is about 62 % full (between 55 % and 70 %).",
		"The array could give about 21 W more now than is used (between 0 W and 44 W).",
		"Without sun and with the present use, the battery lasts about 14 hours (between 1 hour and 4 days).",
	}, visiting.StateSentences(s, r))
	assert.Equal(t, "light on the array; no charge reaches the battery side; not clear if power is held back; "+
		"the load output is cut off by low voltage; something is wrong; battery about 62 % full (55 % to 70 %).", visiting.StateLine(s, r))

	s.Controller.LoadOutput = false
	r.State.Regulating, r.State.HoursToCut.P95 = 0.1, math.Inf(1)
	text := strings.Join(visiting.StateSentences(s, r), " ")
	for _, absent := range []string{"load output", "could give", "lasts"} {
		assert.NotContains(t, text, absent)
	}
}

func TestBecause(t *testing.T) {
	set := reading.NewSet()
	set.Numbers[reading.ArrayA] = 0
	set.Words[reading.Sky] = "clear"
	set.Lists[reading.Gravity] = []float64{1.25, 1.24}
	set.Numbers[reading.PostV] = 12.5
	r := &belief.Result{
		Conditions: []belief.Posterior{{ID: condition.ArrayOpen, P: 0.7}, {ID: condition.Sound, P: 0.3}},
		Evidence: []belief.Evidence{
			{Reading: reading.ArrayA, AgainstSound: 2.1, Sound: belief.Range{Lo: 3.9, Hi: 5.1}, HasRange: true},
			{Reading: reading.BatteryV, AgainstSound: 3}, // not taken
			{Reading: reading.Sky, ForLeader: 1.5},
			{Reading: reading.Gravity, ForLeader: -0.6, Sound: belief.Range{Lo: 1.23, Hi: 1.26}, HasRange: true},
			{Reading: reading.PostV, ForLeader: 0.1}, // says nothing much
		},
	}
	course := procedure.For(site.Demo())
	want := []string{
		"Array current: 0.00 A; if nothing were wrong, 3.90 to 5.10 A. This is a sign of a fault (it speaks strongly for one).",
		`Sky: clear. This speaks clearly for "The array circuit is open" rather than "Everything works as designed".`,
		`Density of the acid: 1.250 1.240; if nothing were wrong, 1.230 to 1.260. This speaks somewhat for "Everything works as designed" rather than "The array circuit is open".`,
	}
	assert.Equal(t, want, visiting.Because(r, set, course, 9))
	assert.Equal(t, want[:1], visiting.Because(r, set, course, 1))

	r.Conditions[0].P, r.Conditions[1].P = 0.995, 0.005
	assert.Equal(t, want[:1], visiting.Because(r, set, course, 9), "the runner-up is out of question")
	r.Evidence = r.Evidence[4:]
	assert.Equal(t, []string{"No single reading decides it; together they fit \"The array circuit is open\" best."}, visiting.Because(r, set, course, 9))
	r.Evidence = nil
	assert.Empty(t, visiting.Because(r, set, course, 9))
}

func TestAnswerText(t *testing.T) {
	num := func(x float64) *float64 { return &x }
	tests := []struct {
		want string
		a    visiting.Answer
	}{
		{"13.10 V", visiting.Answer{Kind: visiting.Took, Reading: reading.BatteryV, Number: num(13.1)}},
		{"13.10 V (doubtful)", visiting.Answer{Kind: visiting.Took, Reading: reading.BatteryV, Number: num(13.1), Doubted: true}},
		{"12.60 12.70 V", visiting.Answer{Kind: visiting.Took, Reading: reading.BlockV, List: []float64{12.6, 12.7}}},
		{"clear", visiting.Answer{Kind: visiting.Took, Reading: reading.Sky, Word: "clear"}},
		{"none", visiting.Answer{Kind: visiting.Took, Labels: []string{}}},
		{"none", visiting.Answer{Kind: visiting.Took}}, // as the journal gives an empty choice back
		{"ward lamps, radio", visiting.Answer{Kind: visiting.Took, Labels: []string{"ward lamps", "radio"}}},
		{"no, nobody is here", visiting.Answer{Kind: visiting.Did, Word: "no", Reason: "nobody is here"}},
		{"not taken: locked", visiting.Answer{Kind: visiting.Cannot, Reading: reading.PostV, Reason: "locked"}},
		{"stopped: smoke", visiting.Answer{Kind: visiting.Stop, Reason: "smoke"}},
		{"red[2J", visiting.Answer{Kind: visiting.Note, Reason: "\x00red\u009b[2J"}},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, tt.a.Text())
	}
}

func TestInterpretation(t *testing.T) {
	set := reading.NewSet()
	set.Words[reading.Sky] = "clear"
	set.NotTaken = []reading.Key{reading.ArrayV}
	result := &belief.Result{
		Conditions: []belief.Posterior{{ID: condition.ArrayOpen, P: 0.93456789}, {ID: condition.BatteryWorn, P: 0.4, With: []condition.ID{condition.ArrayOpen}}, {ID: condition.Sound, P: 1e-9}},
		State: belief.State{
			Daylight: 0.99, SpareW: belief.Interval{Mean: -1e-9}, ChargeLevel: belief.Interval{Mean: 0.62, P05: 0.55, P95: 0.7},
			HoursToCut: belief.Interval{Mean: math.Inf(1), P05: 9, P95: math.NaN()},
		},
		Suspects: []belief.Suspect{{Reading: reading.ArrayA, P: 0.03}, {Reading: reading.Sky, P: 0.002}},
		Gains:    []belief.Gain{{Reading: reading.ArrayV, Bits: 2}, {Reading: reading.ModuleV, Bits: 0.81234}, {Reading: reading.PostV, Bits: 0.1}},
	}
	in := belief.Input{Site: site.Demo(), Readings: set}
	got, err := visiting.Interpret(in, func(belief.Input) (*belief.Result, error) { return result, nil })
	require.NoError(t, err)
	text, err := got.JSON()
	require.NoError(t, err)
	assert.JSONEq(t, `{
		"conditions": [
			{"id": "array-open", "probability": 0.9346, "with": []},
			{"id": "battery-worn", "probability": 0.4, "with": ["array-open"]},
			{"id": "sound", "probability": 0, "with": []}
		],
		"state": {
			"daylight": 0.99, "charging": 0, "regulating": 0, "loads_cut": 0, "as_designed": 0,
			"charge_level": {"mean": 0.62, "p05": 0.55, "p95": 0.7},
			"spare_w": {"mean": 0, "p05": 0, "p95": 0},
			"hours_to_cut": {"mean": null, "p05": 9, "p95": null}
		},
		"suspect": [{"reading": "array_a", "probability": 0.03}],
		"next": {"reading": "module_v", "step": "module_v", "bits": 0.8123}
	}`, string(text))
	assert.NotContains(t, string(text), "-0")
	assert.True(t, strings.HasPrefix(string(text), "{\n  \"conditions\""), "the order of the keys is that of the format")

	result.Gains = nil
	got, err = visiting.Interpret(in, func(belief.Input) (*belief.Result, error) { return result, nil })
	require.NoError(t, err)
	text, err = got.JSON()
	require.NoError(t, err)
	assert.Contains(t, string(text), "\"next\": null\n", "nothing is worth taking")

	_, err = visiting.Interpret(in, func(belief.Input) (*belief.Result, error) { return nil, errFull })
	require.ErrorIs(t, err, errFull)
}
