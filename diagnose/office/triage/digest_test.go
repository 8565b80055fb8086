package triage

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

var (
	start = time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	later = start.AddDate(0, 1, 0) // when it is handed in
)

// took is a number read so many seconds after the start.
func took(k reading.Key, x float64, seconds int) visiting.Entry {
	return visiting.Entry{Answer: &visiting.Answer{Step: string(k), Kind: visiting.Took, Reading: k, Number: &x, At: start.Add(time.Duration(seconds) * time.Second)}}
}

func visit(es ...visiting.Entry) []visiting.Entry {
	head := visiting.Entry{Head: &visiting.Head{ID: "x", SiteName: "Dry Ridge", Who: "A. B.", StartedAt: start}}
	return append([]visiting.Entry{head}, es...)
}

func end(minutes int, c *visiting.Conclusion) []visiting.Entry {
	at := start.Add(time.Duration(minutes) * time.Minute)
	es := []visiting.Entry{{End: &visiting.End{At: at}}}
	if c != nil {
		c.At = at
		es = append(es, visiting.Entry{Conclusion: c})
	}
	return es
}

func sure(id condition.ID, p float64) *visiting.Conclusion {
	return &visiting.Conclusion{Conditions: []visiting.ConditionPosterior{{ID: id, Probability: visiting.Rounded(p)}}}
}

func TestFlags(t *testing.T) {
	whole := sure(condition.LoadJoint, 0.97)
	isolated := sure(condition.LoadJoint, 0.97)
	isolated.NotBack, isolated.Skipped = []string{"array isolated: a loose lug\x1b[2J"}, []string{"eyes"}
	kept := sure(condition.LoadJoint, 0.97)
	kept.Suspect = []visiting.SuspectReading{{Reading: reading.LoadA, Probability: 0.8}}
	steady := []visiting.Entry{took(reading.PostV, 12.6, 60), took(reading.BatteryV, 12.5, 90), took(reading.ArrayV, 13, 120)}
	tests := []struct {
		name    string
		entries []visiting.Entry
		kinds   []Kind
		level   int
		text    string // of the first
	}{
		{"nothing to see", append(steady, end(10, whole)...), nil, 0, ""},
		{"under way", steady, nil, 0, ""},
		{"left open, a precaution missed", append(steady, end(10, isolated)...), []Kind{Isolated, Precaution}, 3, "Left open or isolated: array isolated: a loose lug."},
		{"in doubt", append(steady, end(10, sure(condition.StringOpen, 0.52))...), []Kind{Uncertain}, 2, "The readings do not show the cause clearly. Most likely: " + condition.Of(condition.StringOpen).Title + " (52 %)."},
		{"ended too soon", append(steady, end(10, nil)...), []Kind{Unconcluded}, 2, "The visit ended before the result was worked out."},
		{"a wrong reading kept", append(steady, end(10, kept)...), []Kind{Suspect}, 2, "Probably wrong, but kept: Load current."},
		{"changed late", append(append(steady, took(reading.PostV, 13.6, 3600)), end(70, whole)...), []Kind{Late}, 1, "Answers changed long after they were given: Voltage at the battery posts."},
		{"changed at once", append(append(steady, took(reading.PostV, 13.6, 150)), end(70, whole)...), nil, 0, ""},
		{"made up at a table", append([]visiting.Entry{took(reading.PostV, 12.6, 60), took(reading.BatteryV, 12.5, 62), took(reading.ArrayV, 13, 65), took(reading.LoadV, 12.5, 66)}, end(2, whole)...), []Kind{Fast}, 1, "Faster than anyone can measure: Battery voltage at the controller; Array voltage at the controller; Voltage at the load output."},
		{"two quick ones", append([]visiting.Entry{took(reading.PostV, 12.6, 60), took(reading.BatteryV, 12.5, 62), took(reading.ArrayV, 13, 65)}, end(2, whole)...), nil, 0, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d := Of(visit(tt.entries...), later)
			var kinds []Kind
			for _, f := range d.Flags {
				kinds = append(kinds, f.Kind)
			}
			assert.Equal(t, tt.kinds, kinds)
			assert.Equal(t, tt.level, d.Level())
			if len(d.Flags) > 0 {
				assert.Equal(t, tt.text, d.Flags[0].Text())
			}
		})
	}
}

// What no right clock shows needs attention, and what one may show does not.
func TestClock(t *testing.T) {
	answers := func(minutes ...int) (es []visiting.Entry) {
		for _, m := range minutes {
			es = append(es, took(reading.PostV, 12.6, 60*m))
		}
		return append(es, visiting.Entry{End: &visiting.End{At: start}})
	}
	const day = 24 * 60
	tests := []struct {
		name  string
		start time.Time
		now   time.Time
		es    []visiting.Entry
		want  []string
	}{
		{"right", start, later, answers(1, 2, day), nil},
		{"a zone that was set wrong", start, start.Add(-14 * time.Hour), answers(1), nil},
		{"set right on the way", start, later, answers(10, 1), nil},
		{"in the future", start.AddDate(36, 0, 0), later, nil, []string{ahead}},
		{"handed in two days before it began", start, start.AddDate(0, 0, -2), answers(1), []string{ahead}},
		{"it goes ahead on the way", start, start.Add(time.Hour), answers(1, 3*day), []string{ahead}},
		{"its battery was empty", time.Unix(0, 0), later, nil, []string{old}},
		{"no time at all", time.Time{}, later, nil, []string{old}},
		{"backwards", start, later, answers(30, 60, 31, 90), []string{back}},
		{"before its own beginning", start, later, answers(-60, -50), []string{back}},
		{"set on the way to what it was not", time.Unix(0, 0), later, answers(1, -30*365*day, 2), []string{old, back}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			es := append([]visiting.Entry{{Head: &visiting.Head{ID: "x", StartedAt: tt.start}}}, tt.es...)
			var got []string
			for _, f := range Of(es, tt.now).Flags {
				if f.Kind == Clock {
					got = f.What
				}
			}
			assert.Equal(t, tt.want, got)
		})
	}
	f := Flag{Kind: Clock, What: []string{ahead, back}}
	assert.Equal(t, "The clock of the computer was wrong: dated after it arrived here; a step dated before the step it follows. Ask for the true time.", f.Text())
	assert.Equal(t, 2, f.Level())
}

// A correction after the end opens the visit again, and its conclusion is none
// until there is another.
func TestCorrectionAfterTheEnd(t *testing.T) {
	es := append([]visiting.Entry{took(reading.PostV, 12.6, 60)}, end(10, sure(condition.LoadJoint, 0.97))...)
	d := Of(visit(es...), later)
	assert.True(t, d.Finished)
	id, p := d.Condition()
	assert.Equal(t, condition.LoadJoint, id)
	assert.InDelta(t, 0.97, p, 1e-9)

	es = append(es, took(reading.PostV, 12.9, 700))
	d = Of(visit(es...), later)
	assert.False(t, d.Finished)
	id, _ = d.Condition()
	assert.Empty(t, id)

	assert.Equal(t, Digest{}, Of(nil, start))
}

func TestDueIsTheFirstDay(t *testing.T) {
	c := sure(condition.LoadJoint, 0.97)
	c.Left = []visiting.Outstanding{{Condition: condition.LoadJoint, Due: "2026-04-01"}, {Condition: condition.BypassShort}, {Condition: condition.ArraySoiled, Due: "2026-03-20"}}
	d := Of(visit(end(5, c)...), later)
	assert.Equal(t, time.Date(2026, 3, 20, 0, 0, 0, 0, time.UTC), d.Due())
	d = Of(visit(end(5, sure(condition.Sound, 0.9))...), later)
	assert.True(t, d.Due().IsZero())
}

// Worked out by hand: Ohm's law, and current scaled to 1000 W/m².
func TestMeasures(t *testing.T) {
	all := []visiting.Entry{
		took(reading.Irradiance, 800, 10), took(reading.ArrayA, 4, 40), took(reading.BatteryA, -2, 70), took(reading.LoadA, 0.5, 100),
		took(reading.PostV, 12.60, 130), took(reading.BatteryV, 12.50, 160), took(reading.ModuleV, 14.0, 190), took(reading.ArrayV, 13.2, 220),
		took(reading.LoadV, 12.5, 250), took(reading.LoadEndV, 12.1, 280),
		took(reading.RestV, 12.70, 1000), took(reading.StepA, 5, 1030), took(reading.StepPostV, 12.45, 1060),
	}
	value := func(d Digest) map[Quantity]float64 {
		m := map[Quantity]float64{}
		for _, x := range d.Measures {
			m[x.Quantity] = x.Value
		}
		return m
	}
	m := value(Of(visit(append(all, end(20, sure(condition.Sound, 0.9))...)...), later))
	want := map[Quantity]float64{RestVoltage: 12.7, Resistance: 0.05, ArrayPerLight: 5, BatteryDrop: 0.05, ArrayDrop: 0.2}
	require.Len(t, m, len(want), "half an ampere says nothing of the load circuit")
	for q, x := range want {
		assert.InDelta(t, x, m[q], 1e-9, q)
	}

	held := sure(condition.Sound, 0.9)
	held.State.Regulating = 0.95
	held.Suspect = []visiting.SuspectReading{{Reading: reading.StepA, Probability: 0.9}}
	m = value(Of(visit(append(all, end(20, held)...)...), later))
	assert.NotContains(t, m, ArrayPerLight, "the controller holds back")
	assert.NotContains(t, m, Resistance, "of a reading held for wrong")
}

func TestWordsAreWhole(t *testing.T) {
	kinds := []Kind{Isolated, Precaution, Uncertain, Unconcluded, Suspect, Late, Fast, Clock, Differs, Overdue}
	assert.Len(t, words().Flag, len(kinds))
	for _, k := range kinds {
		assert.NotEmpty(t, words().Flag[k].Text, k)
		assert.Contains(t, []int{1, 2, 3}, words().Flag[k].Level, k)
	}
	assert.Len(t, words().Clock, 3)
	for _, w := range []string{ahead, old, back} {
		assert.NotEmpty(t, words().Clock[w], w)
	}
	assert.Len(t, words().Measure, len(Quantities))
	for _, q := range Quantities {
		assert.NotEmpty(t, q.Title(), q)
		assert.NotEmpty(t, q.Unit(), q)
	}
}

func BenchmarkOf(b *testing.B) {
	var es []visiting.Entry
	for i := range 60 {
		es = append(es, took(reading.Specs[i%len(reading.Specs)].Key, 12, 40*i))
	}
	es = visit(append(es, end(60, sure(condition.LoadJoint, 0.97))...)...)
	for b.Loop() {
		Of(es, start)
	}
}
