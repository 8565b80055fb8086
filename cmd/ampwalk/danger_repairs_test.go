package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// amperes are the array currents of a visit in the order read.
func (p played) amperes() []float64 {
	var list []float64
	for _, a := range p.History() {
		if a.Step == "array_a" && a.Number != nil {
			list = append(list, *a.Number)
		}
	}
	return list
}

// T2. Repaired, and the current that was 0.00 A flows: the papers speak of the plant as
// it is left (functional test after work: IEC 62446-1, from memory).
func TestRepairThatWorked(t *testing.T) {
	scene{fault: condition.ArrayOpen, helps: 1, answers: map[string][]string{"labels": {"3"}}}.play(t, func(t *testing.T, v played) {
		a := v.amperes()
		require.Len(t, a, 2)
		assert.InDelta(t, 0, a[0], 0.01)
		assert.Greater(t, a[1], 1.0)

		assert.Equal(t, condition.Sound, v.Belief().Leader().ID)
		assert.Equal(t, condition.ArrayOpen, v.Found().Leader().ID)
		require.Len(t, v.Repairs(), 1)
		assert.Equal(t, visiting.Worked, v.Repairs()[0].Outcome)
		assert.Empty(t, v.OpenWork())
		v.none(t, "open-work", "open-work-too")
		assert.Greater(t, v.Belief().State.Charging, 0.9, "what is advised is for the plant as left")
		h := headings(t)
		staff, _ := v.papers()
		assert.Contains(t, staff, h.Heading["as_found"])
		assert.Contains(t, staff, h.Heading["as_left"])

		// Missing labels are work for somebody (IEC 62446-1, labels, from memory).
		require.Len(t, v.Findings(), 1)
		assert.NotEmpty(t, v.Findings()[0].Who)
		v.order(t, "labels", "open-work-seen")
	})
}

// T3. Repaired, and still 0.00 A: it is said that it did not work, and somebody is asked
// for.
func TestRepairThatDidNotWork(t *testing.T) {
	scene{fault: condition.ArrayOpen, answers: map[string][]string{
		"repair": {"2", "1"}, "open-work": {"Ana, Tuesday"},
	}}.play(t, func(t *testing.T, v played) {
		require.Len(t, v.Repairs(), 1)
		assert.Equal(t, visiting.Failed, v.Repairs()[0].Outcome)
		work := v.OpenWork()
		require.NotEmpty(t, work)
		assert.Equal(t, condition.ArrayOpen, work[0].Found.ID)
		assert.Equal(t, "Ana", work[0].Who)
		assert.Equal(t, "Tuesday", work[0].By)
		for _, x := range work[0].Actions {
			assert.NotEqual(t, v.Repairs()[0].Action.ID, x.ID, "what was tried does not stand first again")
		}
	})
}

// The first repair does not help, the second does: each is proved by a reading of its
// own before the next (common practice: change one thing at a time).
func TestSecondRepairWorks(t *testing.T) {
	scene{fault: condition.ArrayOpen, helps: 2}.play(t, func(t *testing.T, v played) {
		r := v.Repairs()
		require.Len(t, r, 2)
		assert.Equal(t, visiting.Failed, r[0].Outcome)
		assert.Equal(t, visiting.Worked, r[1].Outcome)
		assert.NotEqual(t, r[0].Action.ID, r[1].Action.ID)
		assert.Empty(t, v.OpenWork())
	})
}

// A repair that nobody can do today is asked about once and stays as work. And without a
// source to prove the meter the voltages still count, only less: below 60 V the proof
// protects the finding more than the person (both common practice).
func TestRepairDeclinedMeterNotProven(t *testing.T) {
	scene{fault: condition.LoadOpen, answers: map[string][]string{
		"meter-proven": {"4"}, "not-working": {"1 2 3"}, "repair": {"1"}, "open-work": {"Ana"},
	}}.play(t, func(t *testing.T, v played) {
		v.order(t, "meter-proven", "load_v")
		wide, usual := v.Input().Readings.Instruments[reading.Voltmeter], reading.DefaultInstruments()[reading.Voltmeter]
		assert.InDelta(t, 2*usual.Percent, wide.Percent, 1e-9)

		assert.Equal(t, 1, v.nth["repair"])
		v.none(t, mending...)
		assert.Empty(t, v.Repairs())
		require.NotEmpty(t, v.OpenWork())
		assert.Equal(t, "Ana", v.OpenWork()[0].Who)
	})
}

// T4. A full battery shows about 12.75 V after a rest (common practice): neither the
// range at the question nor that of the paper may contradict it.
func TestRestVoltageOfAFullBattery(t *testing.T) {
	s := reading.NewSet()
	s.Words[reading.Sky] = "clear"
	s.Numbers = map[reading.Key]float64{
		reading.BatteryV: 14.2, reading.PostV: 14.19, reading.ArrayA: 1.5, reading.BatteryA: 0.6, reading.LoadA: 0.8,
		reading.Minutes: 45,
	}
	for _, taken := range []bool{false, true} {
		if taken {
			s.Numbers[reading.RestV] = 12.75
		}
		r, err := belief.Infer(belief.Input{Site: site.Demo(), Readings: s})
		require.NoError(t, err)
		normal := r.Normal[reading.RestV]
		assert.LessOrEqual(t, normal.Lo, 12.75)
		assert.GreaterOrEqual(t, normal.Hi, 12.75)
	}
}
