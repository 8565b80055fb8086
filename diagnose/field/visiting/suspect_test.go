package visiting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
)

// takeAll answers all that is asked on the way to these readings, which get their
// texts.
func takeAll(t require.TestingT, v *visiting.Visit, typed map[reading.Key]string) {
	bits := map[reading.Key]float64{}
	for k := range typed {
		bits[k] = 1
	}
	for range 100 {
		v.Learn(v.Seq(), gains(bits))
		p := v.Prompt()
		if p.Step.Rung >= procedure.Restore {
			return
		}
		text, ok := typed[p.Step.Reading]
		if !ok || p.Step.Reading == "" {
			text = goodAnswer(p)
		}
		delete(bits, p.Step.Reading)
		give(t, v, p.Step.ID, text)
	}
	require.Fail(t, "the readings were never all taken")
}

// doubting is a belief that holds these readings for wrong, and expects others.
func doubting(expect map[reading.Key]belief.Range, ks ...reading.Key) *belief.Result {
	r := gains(nil)
	r.Expect = expect
	for _, k := range ks {
		r.Suspects = append(r.Suspects, belief.Suspect{Reading: k, P: 0.9})
	}
	return r
}

// The slips are those that clamps, meters and people make (common practice).
func TestSuspectReadingIsAskedOnceMore(t *testing.T) {
	tests := []struct {
		name   string
		typed  map[reading.Key]string
		expect belief.Range // of the first of ks
		ks     []reading.Key
		why    string
	}{
		{"clamp not zeroed", map[reading.Key]string{"array_a": "3.1", "battery_a": "2.2"}, belief.Range{Lo: 2.4, Hi: 2.6},
			[]reading.Key{"array_a", "battery_a"}, "zero it with empty jaws"},
		{"clamp turned round", map[reading.Key]string{"battery_a": "-2.2"}, belief.Range{Lo: 2, Hi: 2.6}, []reading.Key{"battery_a"}, "turned round"},
		{"probes exchanged", map[reading.Key]string{"array_v": "-13.2"}, belief.Range{Lo: 12.9, Hi: 13.5}, []reading.Key{"array_v"}, "red and black"},
		{"milliamperes read as amperes", map[reading.Key]string{"load_a": "0.00147"}, belief.Range{Lo: 1.3, Hi: 1.6}, []reading.Key{"load_a"}, "thousand times"},
		{"comma", map[reading.Key]string{"post_v": "1,26"}, belief.Range{Lo: 12.4, Hi: 12.8}, []reading.Key{"post_v"}, "decimal point"},
		{"two digits exchanged", map[reading.Key]string{"post_v": "16.2"}, belief.Range{Lo: 12.4, Hi: 12.8}, []reading.Key{"post_v"}, "digits exchanged"},
		{"two digits exchanged, of a turned reading", map[reading.Key]string{"standby_a": "-0.310"}, belief.Range{Lo: 0.3005, Hi: 0.3015}, []reading.Key{"standby_a"}, "-0.31 A does not fit the other readings: it would fit with two digits exchanged"},
		{"one digit", map[reading.Key]string{"post_v": "15.60"}, belief.Range{Lo: 12.4, Hi: 12.8}, []reading.Key{"post_v"}, "one digit changed"},
		{"slip of a probe", map[reading.Key]string{"post_v": "7.03"}, belief.Range{Lo: 12.4, Hi: 12.8}, []reading.Key{"post_v"}, "slipped"},
		{"shaded sensor", map[reading.Key]string{"irradiance_w_m2": "40"}, belief.Range{Lo: 700, Hi: 900}, []reading.Key{"irradiance_w_m2"}, "shaded"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			v, _ := newVisit(t)
			ordinary := map[reading.Key]string{}
			for k := range tt.typed {
				ordinary[k] = "1"
			}
			takeAll(t, v, ordinary)
			for k, typed := range tt.typed { // typed last: a danger that it tells of is made safe at once
				give(t, v, string(k), typed)
			}
			k := tt.ks[0]
			believe := func() {
				require.True(t, v.Learn(v.Seq(), doubting(map[reading.Key]belief.Range{k: tt.expect}, tt.ks...)))
			}
			believe()
			p := v.Prompt()
			require.True(t, p.Once)
			require.Equal(t, k, p.Step.Reading)
			assert.Contains(t, p.Why, tt.why)
			require.NotNil(t, p.Given)
			assert.Contains(t, p.Why, p.Given.Text())
			assert.Nil(t, p.Expected, "nobody is led to type it")

			a, err := v.ReadAnyway(p, tt.typed[k])
			require.NoError(t, err)
			a.At = start.Add(time.Hour)
			require.NoError(t, v.Give(a))
			assert.Len(t, v.Takes(p.Step.ID), 2, "both values are kept")
			believe()
			assert.False(t, v.Prompt().Once, "it was confirmed")
		})
	}
}

// A zero that was not set has shifted the other readings of the clamp too.
func TestOtherClampReadingsFollowTheZero(t *testing.T) {
	v, _ := newVisit(t)
	takeAll(t, v, map[reading.Key]string{"array_a": "3.1", "battery_a": "2.2"})
	r := doubting(nil, "array_a", "battery_a")
	v.Learn(v.Seq(), r)
	p := v.Prompt()
	a, err := v.Read(p, "2.5")
	require.NoError(t, err)
	a.At = start.Add(time.Hour)
	require.NoError(t, v.Give(a))
	v.Learn(v.Seq(), r)
	p = v.Prompt()
	require.True(t, p.Once)
	assert.Equal(t, reading.BatteryA, p.Step.Reading)
	assert.Contains(t, p.Why, "not zeroed for this one either")
}

// What could not be taken once more leaves the value that there is; stopping
// there does too.
func TestSuspectReadingThatCannotBeTakenAgain(t *testing.T) {
	for _, kind := range []visiting.AnswerKind{visiting.Cannot, visiting.Stop} {
		t.Run(string(kind), func(t *testing.T) {
			v, m := newVisit(t)
			takeAll(t, v, map[reading.Key]string{"post_v": "7.03"})
			v.Learn(v.Seq(), doubting(nil, "post_v"))
			require.True(t, v.Prompt().Once)
			require.NoError(t, v.Give(visiting.Answer{Step: "post_v", Kind: kind, Reading: reading.PostV, Reason: "too hot", Repeats: true, At: start.Add(time.Hour)}))
			v.Learn(v.Seq(), doubting(nil, "post_v"))
			assert.False(t, v.Prompt().Once)
			assert.InDelta(t, 7.03, v.Input().Readings.Numbers[reading.PostV], 0)
			assert.Empty(t, v.Input().Readings.NotTaken)
			assert.Equal(t, procedure.Good, v.State().Mark("post_v"))
			assert.Equal(t, kind == visiting.Stop, v.State().Stopped != "")
			again, err := visiting.Resume(m.entries(t), m)
			require.NoError(t, err)
			assert.Equal(t, v.Input(), again.Input())
			assert.Equal(t, v.State().Stopped, again.State().Stopped)
		})
	}
}

func TestSuspectReadingIsLeftAlone(t *testing.T) {
	taken := func(typed string) *visiting.Visit {
		v, _ := newVisit(t)
		takeAll(t, v, map[reading.Key]string{"battery_v": typed, "open_v": "20"})
		return v
	}
	t.Run("while the array is isolated", func(t *testing.T) {
		v := taken("7.03")
		require.True(t, v.State().Has(procedure.ArrayIsolated))
		v.Learn(v.Seq(), doubting(nil, "battery_v"))
		assert.False(t, v.Prompt().Once)
		v.Learn(v.Seq(), doubting(nil, "open_v"))
		assert.True(t, v.Prompt().Once, "this one is taken with it isolated")
	})
	t.Run("after it was put back", func(t *testing.T) {
		v := taken("7.03")
		for range 20 {
			v.Learn(v.Seq(), doubting(nil, "battery_v"))
			p := v.Prompt()
			require.False(t, p.Once, "the light has changed since")
			if p.Step.Rung == procedure.Leave {
				return
			}
			give(t, v, p.Step.ID, goodAnswer(p))
		}
		require.Fail(t, "never at leaving")
	})
	t.Run("questioned when it was typed", func(t *testing.T) {
		v, _ := newVisit(t)
		takeAll(t, v, map[reading.Key]string{"post_v": "29"})
		v.Learn(v.Seq(), doubting(nil, "post_v"))
		assert.False(t, v.Prompt().Once)
	})
	t.Run("a precaution was taken back", func(t *testing.T) {
		v, _ := newVisit(t)
		takeAll(t, v, map[reading.Key]string{"post_v": "7.03"})
		require.NoError(t, v.Give(visiting.Answer{Step: "leads", Kind: visiting.Cannot, Reason: "a lead is cut", At: start.Add(time.Hour)}))
		v.Learn(v.Seq(), doubting(nil, "post_v"))
		assert.False(t, v.Prompt().Once)
	})
}

// Whatever readings are doubted, none is asked for a third time and the visit
// ends.
func TestVisitEndsWhateverIsDoubted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v, _ := newVisit(t)
		bits := map[reading.Key]float64{}
		var ks []reading.Key
		for _, s := range reading.Specs {
			bits[s.Key] = rapid.Float64Range(0, 1).Draw(t, "bits")
			if rapid.Bool().Draw(t, "doubted") {
				ks = append(ks, s.Key)
			}
		}
		asked := map[string]int{}
		for range 300 {
			r := doubting(nil, ks...)
			r.Gains = gains(bits).Gains
			v.Learn(v.Seq(), r)
			p := v.Prompt()
			if p.Done {
				return
			}
			if p.Once {
				asked[p.Step.ID]++
				require.Equal(t, 1, asked[p.Step.ID], p.Step.ID)
			}
			kind := rapid.SampledFrom([]visiting.AnswerKind{visiting.Took, visiting.Took, visiting.Took, visiting.Cannot}).Draw(t, "kind")
			a := visiting.Answer{Step: p.Step.ID, Kind: visiting.Cannot, Reading: p.Step.Reading, Reason: "no", Repeats: p.Once}
			if kind == visiting.Took {
				var err error
				a, err = v.ReadAnyway(p, goodAnswer(p))
				require.NoError(t, err)
			}
			a.At = start.Add(time.Minute)
			require.NoError(t, v.Give(a))
		}
		require.Fail(t, "the visit does not end")
	})
}
