package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
)

var (
	mending = []string{"mended", "mended-array", "mended-battery", "mended-controller", "mended-load"}
	clamps  = []string{"array_a", "battery_a", "load_a"}
	probes  = []string{"post_v", "battery_v", "array_v", "module_v", "load_v", "load_end_v"}
)

// S1, S2. The battery's circuit is open at noon: the array's whole voltage stands on the
// controller. Array off first, battery back before the array, no load switched on until
// then (makers' advice, common practice).
func TestBatteryCircuitOpenAtNoon(t *testing.T) {
	scene{fault: condition.BatteryOpen, option: 1, helps: 1}.play(t, func(t *testing.T, v played) {
		require.Contains(t, v.asked, "mended-battery")
		v.order(t, "array-isolate", "repair", "mended-battery", "array-connect")
		for _, s := range []string{"eyes", "air", "jewellery", "tools", "loads-off"} {
			v.order(t, s, "mended-battery")
		}
		assert.NotContains(t, v.before("array-connect"), "appliances")
		assert.NotContains(t, v.before("array-connect"), "load-step-on")
		require.Len(t, v.Repairs(), 1)
		assert.Equal(t, visiting.Worked, v.Repairs()[0].Outcome)
	})
}

// S2 again: nothing is repaired. Nobody switches a load on, and the array stays off.
func TestBatteryCircuitOpenAndNotRepaired(t *testing.T) {
	scene{fault: condition.BatteryOpen, option: 1, answers: map[string][]string{"repair": {"1"}}}.play(t, func(t *testing.T, v played) {
		v.order(t, "array-isolate", "repair", "label-open")
		v.none(t, "appliances", "load-step-on", "loads-back", "array-connect", "mended-battery")
		assert.Contains(t, v.dangers(), "array-alone")
		v.cardFirst(t)
	})
}

// S3. The controller does not stop charging. The array goes off in this visit, not by
// Friday: a battery charged without end boils, gasses and can burst (common practice).
func TestControllerDoesNotStopCharging(t *testing.T) {
	full := func(u *plant.Unknowns) { u.SoC, u.BatteryC, u.LoadW = 1, 38, 0 }
	h := headings(t)
	t.Run("left", func(t *testing.T) {
		scene{fault: condition.ChargePathStuck, at: full, answers: map[string][]string{"repair": {"1"}}}.play(t, func(t *testing.T, v played) {
			v.order(t, "array-isolate", "label-open")
			v.none(t, "array-connect", "appliances")
			assert.Contains(t, v.dangers(), "overcharge")
			v.cardFirst(t)
			staff, _ := v.papers()
			assert.NotContains(t, staff, h.Heading["energy"], "it would say to wait")
		})
	})
	t.Run("set back", func(t *testing.T) {
		scene{fault: condition.SetPointHigh, at: full, helps: 1}.play(t, func(t *testing.T, v played) {
			v.order(t, "array-isolate", "mended", "array-connect")
			require.Len(t, v.Repairs(), 1)
			assert.Equal(t, visiting.Worked, v.Repairs()[0].Outcome)
			assert.NotContains(t, v.dangers(), "overcharge")
		})
	})
}

// S4. A smell and nothing read: people first, and no state made of what is common.
func TestSmellAndNothingRead(t *testing.T) {
	scene{answers: map[string][]string{"battery-look": {"7"}}}.play(t, func(t *testing.T, v played) {
		require.Contains(t, v.asked, "emergency")
		assert.Equal(t, v.first("battery-look")+1, v.first("emergency"))
		v.none(t, append(append(clamps, probes...), "appliances", "repair")...)
		v.cardFirst(t)
		h := headings(t)
		staff, caretaker := v.papers()
		for _, id := range []string{"state", "why", "do", "energy"} {
			assert.NotContains(t, staff, h.Heading[id])
		}
		for _, id := range []string{"now", "works", "wrong", "unclear"} {
			assert.NotContains(t, caretaker, h.Caretaker.Heading[id])
		}
	})
}

// S5. Flame, metal on the battery, a bridged fuse and a melted spot are made safe before
// any clamp or probe there (IEC 62485-2, from memory; common practice).
func TestSeenDangersAreMadeSafeFirst(t *testing.T) {
	scene{answers: map[string][]string{"battery-place": {"2 3"}, "terminals-look": {"2 3 4"}}}.play(t, func(t *testing.T, v played) {
		for _, s := range []string{"flame-out", "metal-away", "fuse-safe", "spot-off"} {
			require.Contains(t, v.asked, s)
			assert.Subset(t, v.before(append(clamps, probes...)...), []string{s})
		}
		v.none(t, "covers-off", "battery_v", "array_v", "load_v", "appliances", "array-connect")
		assert.Subset(t, v.dangers(), []string{"fuse", "burnt"})
		v.cardFirst(t)
	})
}

// T1. Crust, a loose wire, a melted spot, low acid and dead lamps: each is put down with
// who does it, and nothing says that all is well.
func TestSeenThingsAreNotNothing(t *testing.T) {
	scene{answers: map[string][]string{"battery-place": {"4 5"}, "terminals-look": {"1 2"}, "appliances": {"1"}}}.play(t, func(t *testing.T, v played) {
		require.Len(t, v.Findings(), 5)
		for _, f := range v.Findings() {
			assert.NotEmpty(t, f.Do)
			assert.NotEmpty(t, f.Who)
		}
		require.Contains(t, v.asked, "open-work-seen")
		h := headings(t)
		staff, caretaker := v.papers()
		assert.Contains(t, staff, h.Heading["repair"])
		assert.Contains(t, caretaker, h.Caretaker.Heading["repair"])
	})
}
