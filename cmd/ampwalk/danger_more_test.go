package main

import (
	"maps"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// In the dark the array gives no current: nobody walks to it, and isolating it for a
// rest voltage is risk without gain (common practice).
func TestNightWithAWornBattery(t *testing.T) {
	scene{hour: 4.2, sky: "dark", fault: condition.BatteryWorn, at: func(u *plant.Unknowns) {
		u.SoC, u.Irradiance, u.IrradianceIsolated, u.CellC, u.CellCIsolated = 0.6, 0, 0, u.AirC, u.AirC
	}}.play(t, func(t *testing.T, v played) {
		require.Contains(t, v.asked, "rest_v")
		v.none(t, "shade", "glass", "array-look", "irradiance_w_m2", "module_c", "module_v", "open_v", "array-isolate")
	})
}

func overcharged(u *plant.Unknowns) { u.SoC, u.BatteryC, u.LoadW = 1, 38, 0 }

// Charged too hard, and the array has no switch: cover it from the ground, else put
// loads on, else leave it and bring people out (common practice).
func TestOverchargeWithoutASwitch(t *testing.T) {
	answers := func(more map[string][]string) map[string][]string {
		more["no-current"] = []string{"no place"}
		more["repair"] = []string{"1"}
		return more
	}
	t.Run("covered", func(t *testing.T) {
		scene{fault: condition.ChargePathStuck, at: overcharged, answers: answers(map[string][]string{})}.play(t, func(t *testing.T, v played) {
			v.order(t, "no-current", "array-cover")
			// The controller is not replaced with the array on it: it is not even asked about.
			v.none(t, "repair", "array-isolate", "loads-carry", "array-uncover", "emergency", "appliances")
			covered := v.asked[v.first("array-cover"):] // what is read now is of a plant without sun
			for _, s := range append(append([]string{"module_c"}, clamps...), probes...) {
				assert.NotContains(t, covered, s)
			}
			v.cardFirst(t)
		})
	})
	t.Run("loads on", func(t *testing.T) {
		scene{fault: condition.ChargePathStuck, at: overcharged, answers: answers(map[string][]string{
			"array-cover": {"cannot 1"},
		})}.play(t, func(t *testing.T, v played) {
			v.order(t, "no-current", "array-cover", "loads-carry")
			v.none(t, "array-isolate", "emergency")
			v.cardFirst(t)
		})
	})
	t.Run("nothing can be done", func(t *testing.T) {
		scene{fault: condition.ChargePathStuck, at: overcharged, answers: answers(map[string][]string{
			"array-cover": {"cannot 1"}, "loads-carry": {"2"},
		})}.play(t, func(t *testing.T, v played) {
			v.order(t, "no-current", "array-cover", "loads-carry", "emergency", "keep-away")
			after := v.asked[v.first("emergency"):]
			for _, s := range append(append(clamps, probes...), "repair", "appliances") {
				assert.NotContains(t, after, s)
			}
			v.cardFirst(t)
		})
	})
}

// lithium is the demo site with a lithium pack.
func lithium() string {
	return strings.NewReplacer(
		`chemistry = "flooded"`, `chemistry = "lfp"`, "cells_per_block = 6", "cells_per_block = 4",
		"float_v = 13.7", "float_v = 13.6", "comp_mv_per_c_cell = -4", "comp_mv_per_c_cell = 0",
	).Replace(string(site.DemoTOML()))
}

// A lithium pack that has switched itself off leaves the array on a controller without a
// battery: array off, then wake the pack, the array last (makers' advice, from memory).
func TestPackSwitchedOff(t *testing.T) {
	scene{toml: lithium(), fault: condition.BatteryOff, option: 1, helps: 1}.play(t, func(t *testing.T, v played) {
		v.order(t, "array-isolate", "repair")
		assert.NotContains(t, v.before("array-connect"), "appliances")
		assert.NotContains(t, v.before("array-isolate"), "load_v")
		for _, m := range mending {
			assert.NotContains(t, v.before("array-isolate"), m)
		}
	})
}

// An array the wrong way round: off before its wires are touched, no short circuit, and
// its sign proves the repair (IEC 62446-1, polarity before all other tests, from memory).
func TestArrayReversed(t *testing.T) {
	scene{fault: condition.ArrayReversed, option: 1, helps: 1}.play(t, func(t *testing.T, v played) {
		v.order(t, "array-isolate", "mended-array", "array-connect")
		v.none(t, "lead-on", "short-on")
		assert.Equal(t, condition.ArrayReversed, v.Found().Leader().ID)
		require.Len(t, v.Repairs(), 1)
	})
}

// A dead controller with the array on it: array off first, battery before array when it
// is started again (makers' advice).
func TestControllerDead(t *testing.T) {
	scene{fault: condition.ControllerDead, answers: map[string][]string{
		"repair": {"1"}, "lamps.array lamp": {"out"}, "lamps.battery lamp": {"out"}, "lamps.load lamp": {"out"},
	}}.play(t, func(t *testing.T, v played) {
		v.order(t, "array-isolate", "label-open")
		v.none(t, "array-connect", "appliances", "load-step-on", "short-on")
		assert.Contains(t, v.dangers(), "dead")
		v.cardFirst(t)
	})
}

// stopped requires that after the step nothing is measured, repaired, switched on or
// charged.
func (p played) stopped(t *testing.T, step string) {
	t.Helper()
	require.Contains(t, p.asked, step)
	after := p.asked[p.first(step)+1:]
	for _, s := range append(append(append([]string{"repair", "array-connect", "appliances"}, clamps...), probes...), mending...) {
		assert.NotContains(t, after, s)
	}
}

// Above 50 C a lead-acid battery is not charged (common practice): the array that was
// isolated stays so.
func TestHotBattery(t *testing.T) {
	scene{fault: condition.CellShort, answers: map[string][]string{"battery_c": {"55"}}}.play(t, func(t *testing.T, v played) {
		v.order(t, "array-isolate", "battery_c", "emergency", "label-open")
		v.stopped(t, "battery_c")
		assert.Contains(t, v.dangers(), "battery-hot")
		v.cardFirst(t)
	})
}

// Above 60 V of direct current a shock can kill (IEC 60364-4-41 414.4.5, from memory).
func TestAbove60V(t *testing.T) {
	scene{answers: map[string][]string{"battery_v": {"64"}}}.play(t, func(t *testing.T, v played) {
		v.stopped(t, "battery_v")
		require.Contains(t, v.asked, "emergency")
		v.cardFirst(t)
	})
}

// Plus and minus of the battery exchanged: the array goes off, nobody takes the battery's
// wires off or goes on with battery work (makers' advice).
func TestBatteryExchanged(t *testing.T) {
	scene{answers: map[string][]string{"battery_v": {"-12.60"}}}.play(t, func(t *testing.T, v played) {
		v.order(t, "battery_v", "array-isolate", "label-open")
		v.none(t, append([]string{"rest_v", "load-step-on", "array-connect", "appliances"}, mending...)...)
		assert.Contains(t, v.dangers(), "exchanged")
		v.cardFirst(t)
	})
}

// A flame that cannot be put out keeps everybody from the battery and the meter.
func TestFlameThatStays(t *testing.T) {
	scene{answers: map[string][]string{"battery-place": {"2"}, "flame-out": {"2"}}}.play(t, func(t *testing.T, v played) {
		v.none(t, append(append([]string{"jewellery", "rest_v", "repair", "appliances"}, clamps...), probes...)...)
		v.cardFirst(t)
	})
}

// Who stops or goes before a danger is made safe is told first what to do about it, and
// both papers begin with that (people first: common practice).
func TestGoingBeforeItIsSafe(t *testing.T) {
	tests := []struct {
		danger, step string // and what makes it safe
		scene        scene
	}{
		{"flame", "flame-out", scene{answers: map[string][]string{"battery-place": {"2"}}}},
		{"metal", "metal-away", scene{answers: map[string][]string{"battery-place": {"3"}}}},
		{"fuse", "fuse-safe", scene{answers: map[string][]string{"terminals-look": {"3"}}}},
		{"burnt", "spot-off", scene{answers: map[string][]string{"terminals-look": {"4"}}}},
		{"exchanged", "array-isolate", scene{answers: map[string][]string{"post_v": {"-12.60"}, "battery_v": {"-12.60"}}}},
		{"array-alone", "array-isolate", scene{fault: condition.BatteryOpen, option: 1}},
		{"overcharge", "array-isolate", scene{fault: condition.ChargePathStuck, at: overcharged}},
		{"reversed", "array-isolate", scene{fault: condition.ArrayReversed, option: 1}},
	}
	for _, tt := range tests {
		going := func(how string) scene {
			sc := tt.scene
			sc.answers = map[string][]string{tt.step: {how}}
			maps.Copy(sc.answers, tt.scene.answers)
			sc.leave = how == leaves
			return sc
		}
		t.Run(tt.danger+", stops", func(t *testing.T) {
			going("stop called away").play(t, func(t *testing.T, v played) {
				v.order(t, tt.step, "emergency", "keep-away")
				assert.Equal(t, v.first(tt.step)+1, v.first("emergency"))
				v.stopped(t, tt.step)
				assert.Contains(t, v.dangers(), tt.danger)
				v.cardFirst(t)
			})
		})
		t.Run(tt.danger+", goes", func(t *testing.T) { // what is seen is checked by the faces
			going(leaves).play(t, func(t *testing.T, v played) {
				assert.Equal(t, tt.step, v.asked[len(v.asked)-1])
				assert.Contains(t, v.dangers(), tt.danger)
				v.cardFirst(t)
			})
		})
	}
}

// What is seen, heard or felt at the first look stops the visit: nothing is touched
// (common practice). The whole card is seen, see window.shows.
func TestStopsBeforeAnythingIsTouched(t *testing.T) {
	for step, answers := range map[string][]string{
		"lightning": {"2"}, "cables-look": {"2", "3", "4"}, "battery-look": {"2", "3", "4", "5", "6", "7"},
	} {
		for _, answer := range answers {
			t.Run(step+" "+answer, func(t *testing.T) {
				scene{answers: map[string][]string{step: {answer}}}.play(t, func(t *testing.T, v played) {
					require.Equal(t, "emergency", v.asked[v.first(step)+1])
					v.stopped(t, step)
					v.cardFirst(t)
				})
			})
		}
	}
}

// withInverter is the demo site with an inverter among its loads.
func withInverter() string {
	return strings.NewReplacer(`label = "radio"`, `label = "inverter for the printer"`, "power_w = 6 ", "power_w = 45 ").Replace(string(site.DemoTOML()))
}

// An inverter closes its own parts only: nobody opens it, and it is no load for a test.
// Battery and array are measured as anywhere (common practice).
func TestInverterAtTheSite(t *testing.T) {
	scene{toml: withInverter(), fault: condition.ArrayOpen, helps: 1}.play(t, func(t *testing.T, v played) {
		assert.Equal(t, procedure.Good, v.State().Mark("site"))
		for _, s := range []string{"array_a", "array_v", "battery_v"} {
			assert.Contains(t, v.asked, s)
		}
		assert.Equal(t, procedure.For(site.Demo()).Limits, v.Procedure().Limits)
		for _, s := range procedure.For(site.Demo()).Steps {
			_, ok := v.Procedure().Step(s.ID)
			assert.True(t, ok, "%s is closed", s.ID)
		}
		for _, label := range procedure.TestLoads(v.Site()) {
			assert.NotContains(t, label, "inverter")
		}
		assert.Equal(t, condition.ArrayOpen, v.Found().Leader().ID)
		require.Len(t, v.Repairs(), 1)
		assert.Equal(t, visiting.Worked, v.Repairs()[0].Outcome)
	})
}

// What a fault of the battery's circuit asks for is not closed by an inverter either: the place
// of a break is found from the posts on.
func TestPostsBesideAnInverter(t *testing.T) {
	scene{toml: withInverter(), fault: condition.BatteryOpen, helps: 1}.play(t, func(t *testing.T, v played) {
		_, has := v.Procedure().Step("post_v")
		assert.True(t, has)
		assert.Contains(t, v.asked, "place.battery.battery-fuse-in")
	})
}
