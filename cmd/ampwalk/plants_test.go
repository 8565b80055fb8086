package main

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/siteform"
	"ampwalk/diagnose/field/summary"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// described is the text of a plant of testdata/plants.
func described(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile("../../testdata/plants/" + name + ".site.toml")
	require.NoError(t, err)
	return string(text)
}

// insideKit are steps that nobody does at a closed kit.
var insideKit = []string{
	"covers-off", "post_v", "battery_v", "battery_a", "load_a", "rest", "rest_v", "standby_a", "load-step-on", "gravity", "block_v",
	"battery-connected", "mended-battery", "mended-controller", "eyes", "air",
}

// evening is what a kit is in at noon, with its lamps of 3 W as what is on in the evening.
func evening(u *plant.Unknowns) { u.SoC, u.RunW, u.LoadW = 0.5, 3, 7 }

// A closed kit is visited without opening it, on the screen and line by line, and the words at
// the end are the right ones: what can be told from outside, and who opens it.
func TestClosedKit(t *testing.T) {
	for name, tt := range map[string]struct {
		fault  condition.ID
		option int
		at     func(*plant.Unknowns)
		asks   []string // among others
		says   string
	}{
		"sound":              {condition.Sound, 0, evening, []string{"usb_v"}, "Everything works as designed"},
		"battery worn":       {condition.BatteryWorn, 0, evening, []string{"run_h"}, "Have the battery replaced by the maker's service."},
		"cable broken":       {condition.ArrayOpen, 0, evening, []string{"array_a"}, "Replace the panel's cable and plug"},
		"one output dead":    {condition.LoadOutputOpen, 1, evening, []string{"usb_v"}, "Use the outputs that work"},
		"takes no charge":    {condition.ChargePathOpen, 0, evening, []string{"array_v"}, "Send the kit to the maker's service"},
		"dead, in full sun":  {condition.ControllerDead, 0, func(u *plant.Unknowns) { evening(u); u.LoadW = 0 }, []string{"usb_v"}, "Leave it in full sun for two hours"},
		"dirt on its module": {condition.ArraySoiled, 0, evening, []string{"array_a"}, "Clean the glass"},
	} {
		t.Run(name, func(t *testing.T) {
			sc := scene{toml: described(t, "lantern-kit"), fault: tt.fault, option: tt.option, at: tt.at, answers: map[string][]string{"repair": {"1"}, "locked": {"none"}}}
			if tt.fault == condition.ArraySoiled {
				sc.answers["glass"] = []string{"caked"}
			}
			sc.play(t, func(t *testing.T, v played) {
				v.none(t, insideKit...)
				for _, step := range tt.asks {
					assert.Contains(t, v.asked, step)
				}
				assert.Less(t, len(v.asked), 60, "a short visit")
				assert.Equal(t, tt.fault, v.Found().Leader().ID, "%v", leading(v))
				assert.Contains(t, v.paper(), tt.says)
				assert.NotContains(t, v.paper(), "tighten all terminals")
			})
		})
	}
}

// paper is what the summary for the staff says.
func (p played) paper() string {
	return flat(summary.ForStaff(p.Visit, summary.Beside{}).Text())
}

func leading(v played) []belief.Posterior { return v.Found().Conditions[:3] }

// A kit that waits for its payment gives nothing and is whole: the visit says so and has no
// fault in it.
func TestLockedKit(t *testing.T) {
	scene{toml: described(t, "lantern-kit"), fault: condition.Sound, at: func(u *plant.Unknowns) { evening(u); u.Locked = true }, answers: map[string][]string{
		"locked": {"1"}, "not-working": {"all"},
	}}.play(t, func(t *testing.T, v played) {
		assert.Equal(t, condition.Sound, v.Found().Leader().ID, "%v", leading(v))
		assert.Contains(t, v.paper(), "Pay or type the code")
	})
}

// A swollen kit ends the visit before it is touched.
func TestSwollenKit(t *testing.T) {
	scene{toml: described(t, "lantern-kit"), fault: condition.BatteryWorn, at: evening, answers: map[string][]string{"battery-look": {"swollen"}}}.play(t, func(t *testing.T, v played) {
		v.none(t, append(insideKit, "usb_v", "output_w", "array_a", "array-isolate", "appliances")...)
		assert.Contains(t, v.asked, "emergency")
	})
}

// equipped has an inverter, two strings of the battery and a charger, as somebody describes it
// by the form: what is asked of every site, with a figure for each part, and in the details
// what the inverter feeds and how its light looks. It is some twenty questions.
func equipped(t *testing.T) string {
	t.Helper()
	d, err := siteform.New("Juniper school")
	require.NoError(t, err)
	var text []byte
	talk := siteform.NewTalk(d, func(b []byte) error { text = bytes.Clone(b); return nil })
	answers := 0
	answer := func(typed string) {
		answers++
		require.NoError(t, talk.Answer(typed), "%s: %q %v", talk.Question().Path, typed, talk.Doubt())
	}
	for _, typed := range []string{
		"12", "flooded", "200", "100", "22.1", "1 4", "series", "yes", "battery, array, loads, inverter, charger, strings", "400", "20", "2",
		"class lamps 40 W 5 h; printer 120 W 1 h; radio 10 W 6 h", "-12.6 34.1",
	} {
		answer(typed)
	}
	require.True(t, talk.Over())
	require.Empty(t, talk.Left(), "a visit can begin")
	for _, x := range []struct{ path, typed string }{
		{"load.1.from", "inverter"}, {"inverter.lamp", "yes"}, {"inverter.lamp.0.label", "front light"}, {"inverter.lamp.0.look", "yes"},
		{"inverter.lamp.0.look.0.look", "green"}, {"inverter.lamp.0.look.0.means", "inverter-on"}, {"inverter.lamp.0.look", "yes"},
		{"inverter.lamp.0.look.1.look", "red"}, {"inverter.lamp.0.look.1.means", "inverter-low"}, {"inverter.lamp.0.look", "yes"},
		{"inverter.lamp.0.look.2.look", "out"}, {"inverter.lamp.0.look.2.means", "inverter-off"},
	} {
		require.True(t, talk.Go(x.path), x.path)
		answer(x.typed)
	}
	assert.Less(t, answers, 30, "under ten minutes at twenty seconds a question (judgement)")
	return string(text)
}

// A plant with an inverter, two battery strings and a charger is described by the form, and
// visited on the screen and line by line to the right words.
func TestEquippedPlant(t *testing.T) {
	toml := equipped(t)
	s, err := site.Parse("equipped.site.toml", []byte(toml))
	require.NoError(t, err)
	on := func(u *plant.Unknowns) {
		u.SoC = 0.6
		u.SetLoads(s, func(i int) float64 { return s.Loads[i].PowerW })
	}
	for name, tt := range map[string]struct {
		fault   condition.ID
		asks    string
		says    string
		answers map[string][]string
	}{
		"sound":            {condition.Sound, "battery_a", "Everything works as designed", nil},
		"string open":      {condition.BatteryStringOpen, "string_a", "repair the fuse or joint", nil},
		"inverter starved": {condition.InverterStarved, "inverter_v", "clean and remake the joint, or fit a thicker, shorter cable", map[string][]string{"visit": {"2"}, "complaint": {"6"}}},
		"inverter off":     {condition.InverterOff, "inverter_a", "Take all AC plugs out", map[string][]string{"not-working": {"2"}}},
	} {
		t.Run(name, func(t *testing.T) {
			answers := map[string][]string{"repair": {"1"}, "charger_on": {"none"}}
			for step, typed := range tt.answers {
				answers[step] = typed
			}
			scene{toml: toml, fault: tt.fault, at: on, answers: answers}.play(t, func(t *testing.T, v played) {
				assert.Contains(t, v.asked, tt.asks)
				assert.Equal(t, tt.fault, v.Found().Leader().ID, "%v", leading(v))
				assert.Contains(t, v.paper(), tt.says)
			})
		})
	}
}
