package procedure

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/physics/site"
)

// Each invariant fails on a copy of the procedure that was broken on purpose:
// the checker itself is tested.
func TestBrokenCopies(t *testing.T) {
	if testing.Short() {
		t.Skip("walks every state of many procedures; TestEveryState walks some")
	}
	step := func(c *catalogue, id string) *stepData {
		for i := range c.Steps {
			if c.Steps[i].ID == id {
				return &c.Steps[i]
			}
		}
		panic(id)
	}
	remove := func(c *catalogue, id string) {
		for i := range c.Steps {
			if c.Steps[i].ID == id {
				c.Steps = append(c.Steps[:i], c.Steps[i+1:]...)
				return
			}
		}
		panic(id)
	}
	const (
		isolation  = "isolation is missing"
		precaution = "a precaution is missing"
		unrecorded = "something stays open unrecorded"
		battFirst  = "array connected before the battery"
	)
	hazard := func(c *catalogue, id string) *dangerData {
		for i := range c.Dangers {
			if c.Dangers[i].ID == id {
				return &c.Dangers[i]
			}
		}
		panic(id)
	}
	without := func(list []string, ids ...string) []string {
		return slices.DeleteFunc(slices.Clone(list), func(id string) bool { return slices.Contains(ids, id) })
	}
	const (
		forbids  = "forbidden while a danger lasts"
		safeLast = "something comes before making safe"
		bare     = "mending without its precautions"
	)
	tests := []struct {
		name   string
		site   *site.Site
		change func(*catalogue)
		want   string
		hazard string // the walk that finds it
	}{
		{"open_v without isolating", flooded12(), func(c *catalogue) { step(c, "open_v").Requires = nil }, isolation, ""},
		{"standby_a with loads on", flooded12(), func(c *catalogue) { step(c, "standby_a").Requires = []Flag{ArrayIsolated} }, isolation, ""},
		{"short_a without shorting", flooded12(), func(c *catalogue) { step(c, "short_a").Requires = []Flag{ArrayIsolated} }, isolation, ""},
		{"rest with the array on", mppt24(), func(c *catalogue) { step(c, "rest").Requires = []Flag{LoadsOff} }, isolation, ""},
		{"as found after isolating", mppt24(), func(c *catalogue) { step(c, "array_v").Forbids = nil }, isolation, ""},
		{"rested after the load step", mppt24(), func(c *catalogue) { step(c, "load-step-on").Clears = nil }, isolation, ""},
		{"short-on while connected", flooded12(), func(c *catalogue) { step(c, "short-on").Requires = nil }, "a source shorted that must not be", ""},
		{"a test with the array open", flooded12(), func(c *catalogue) { step(c, "test-load-up").Forbids = nil }, "a test while something is open", "led to test-load-up"},
		{"a test without zeroing", flooded12(), func(c *catalogue) {
			step(c, "clamp-fit").Opens = without(step(c, "clamp-fit").Opens, "test-load-up", "clamp")
		}, precaution, "led to test-load-up"},
		{"inside of a kit measured", kit12(), func(c *catalogue) { step(c, "battery_a").Unless = nil }, "a closed kit opened", ""},
		{"a kit not looked at", kit12(), func(c *catalogue) {
			step(c, "battery-look").Opens = without(step(c, "battery-look").Opens, "usb_v", "output_w")
		}, precaution, ""},
		{"rings not asked", flooded12(), func(c *catalogue) { step(c, "jewellery").Opens = nil }, precaution, ""},
		{"goggles not asked", flooded12(), func(c *catalogue) { step(c, "eyes").Opens = nil }, precaution, ""},
		{"no-current not asked", flooded12(), func(c *catalogue) { step(c, "no-current").Opens = nil }, precaution, ""},
		{"clamp not zeroed", lookOnly(), func(c *catalogue) { step(c, "clamp-fit").Opens = nil }, precaution, ""},
		{"battery not asked for", flooded12(), func(c *catalogue) { remove(c, "battery-connected") }, battFirst, ""},
		{"battery's answer not heeded", flooded12(), func(c *catalogue) { step(c, "array-connect").Forbids = []Flag{ArrayShorted} }, battFirst, ""},
		{"restore order swapped", flooded12(), func(c *catalogue) {
			*step(c, "battery-connected"), *step(c, "array-connect") = *step(c, "array-connect"), *step(c, "battery-connected")
		}, battFirst, ""},
		{"shorted array connected", flooded12(), func(c *catalogue) {
			step(c, "array-connect").Forbids = []Flag{BatteryIsolated}
		}, "a shorted array connected", ""},
		{"array never put back", flooded12(), func(c *catalogue) { remove(c, "array-connect") }, unrecorded, ""},
		{"loads never put back", flooded12(), func(c *catalogue) { remove(c, "loads-back") }, unrecorded, ""},
		{"nothing labelled", flooded12(), func(c *catalogue) { remove(c, "label-open") }, unrecorded, ""},
		{"danger does not stop", flooded12(), func(c *catalogue) { step(c, "battery-look").Stops = false }, "measuring goes on after a stop", ""},
		{"voltage does not stop", flooded12(), func(c *catalogue) { step(c, "post_v").StopAbove = 0 }, "measuring goes on after a stop", ""},
		{"clamping after battery work", flooded12(), func(c *catalogue) { step(c, "standby_a").Rung = Battery }, "a lower rung after a higher one", ""},
		{"stop without a question", flooded12(), func(c *catalogue) { step(c, "safe-back").Opens = nil }, "putting back without asking whether it is safe", ""},
		{"putting back what stays open", flooded12(), func(c *catalogue) { step(c, "loads-back").Sets = []Flag{LoadsOff} }, "a path that does not end", ""},
		{"nobody asked", flooded12(), func(c *catalogue) { step(c, "permission").Opens = nil }, precaution, ""},
		{"no choice of the clamp's proof", flooded12(), func(c *catalogue) {
			for i := range step(c, "no-current").Choices {
				step(c, "no-current").Choices[i].Needs = ""
			}
		}, precaution, ""},
		{"file not compared", flooded12(), func(c *catalogue) { step(c, "site").Opens = nil }, precaution, ""},
		{"cover not asked for", flooded12(), func(c *catalogue) { step(c, "covers-off").Opens = []string{"load_v"} }, precaution, ""},
		{"cover never put back", flooded12(), func(c *catalogue) { remove(c, "covers-back") }, unrecorded, ""},
		{"lead taken off under current", flooded12(), func(c *catalogue) { step(c, "lead-off").Forbids = nil }, "a short circuit opened without its switch", ""},
		{"lead on the array while connected", flooded12(), func(c *catalogue) {
			step(c, "polarity").Requires, step(c, "lead-on").Requires, step(c, "short-on").Requires = nil, nil, []Flag{LeadOn}
			step(c, "short_a").Requires = []Flag{LeadOn, ArrayShorted}
		}, "a source shorted that must not be", ""},
		{"polarity not asked", flooded12(), func(c *catalogue) { remove(c, "polarity") }, "array connected without knowing plus and minus", ""},
		{"battery not looked at the second time", flooded12(), func(c *catalogue) {
			step(c, "array-connect").Renews = []string{"array-isolate", "no-current", "polarity"}
		}, battFirst + afterBack, ""},
		{"loads tried while off", flooded12(), func(c *catalogue) { step(c, "appliances").Forbids = nil }, "loads tried while something is open", ""},
		{"current through the meter", flooded12(), func(c *catalogue) { step(c, "array_a").Red = "array+" }, "a current through the meter, across a source", ""},
		{"no log", flooded12(), func(c *catalogue) { remove(c, "log") }, "the end comes before leaving", ""},
		{"gravity on a sealed battery", mppt24(), func(c *catalogue) { step(c, "gravity").If = nil }, "a step that the site does not have", ""},
		{"probing a high array", highArray(), func(c *catalogue) { step(c, "array_v").Touches = noCircuit }, "a step that the site does not have", ""},
		{"loads tried on an array alone", flooded12(), func(c *catalogue) {
			d := hazard(c, "array-alone")
			d.Closes = without(d.Closes, "appliances", "array-connect")
		}, forbids, "believed array-alone and given up"},
		{"array back on an overcharged battery", flooded12(), func(c *catalogue) { d := hazard(c, "overcharge"); d.Closes = without(d.Closes, "array-connect") }, forbids, "repair mended-battery in danger overcharge"},
		{"a burnt place probed", flooded12(), func(c *catalogue) { hazard(c, "burnt").Closes = nil }, forbids, "found burnt"},
		{"a flame left", flooded12(), func(c *catalogue) { d := hazard(c, "flame"); d.MakeSafe, d.UntilSafe = nil, nil }, forbids, "found flame"},
		{"overcharge noted only", flooded12(), func(c *catalogue) { d := hazard(c, "overcharge"); d.MakeSafe, d.UntilSafe, d.Leave = nil, nil, false }, safeLast, "believed overcharge"},
		{"repair before making safe", flooded12(), func(c *catalogue) { d := hazard(c, "fuse"); d.UntilSafe, d.MakeSafe = nil, nil }, forbids, "repair mended at a fuse"},
		{"array back on a bridged fuse", flooded12(), func(c *catalogue) { d := hazard(c, "fuse"); d.UntilSafe = without(d.UntilSafe, "array-connect") }, forbids, "found fuse"},
		{"repair of a live battery", flooded12(), func(c *catalogue) { step(c, "mended-battery").Requires = []Flag{LoadsOff} }, "mending on a live circuit", "repair mended-battery"},
		{"repair of a live array", flooded12(), func(c *catalogue) { step(c, "mended-array").Requires = nil }, "mending on a live circuit", "repair mended-array"},
		{"repair without goggles", flooded12(), func(c *catalogue) { s := step(c, "eyes"); s.Opens = without(s.Opens, "mended-battery") }, bare, "repair mended-battery"},
		{"repair with bare tools", flooded12(), func(c *catalogue) { s := step(c, "tools"); s.Opens = without(s.Opens, "mended-load") }, bare, "repair mended-load"},
		{"an array isolated for ever", flooded12(), func(c *catalogue) {
			d := hazard(c, "dead")
			d.Closes = without(d.Closes, "array-connect")
		}, forbids, "believed dead, setting up"},
		{"posts without goggles", flooded12(), func(c *catalogue) { s := step(c, "eyes"); s.Opens = without(s.Opens, "post_v") }, precaution, ""},
		{"battery clamped with rings", flooded12(), func(c *catalogue) { s := step(c, "jewellery"); s.Opens = without(s.Opens, "battery_a") }, precaution, ""},
		{"isolating a high array", highShunt(), func(c *catalogue) { step(c, "array-isolate").Touches = noCircuit }, "a step that the site does not have", ""},
	}
	absent := map[string][]string{
		"mppt24": {"gravity"}, "highArray": {"array_v"}, "highShunt": {"array-isolate"},
	}
	every := effort.Of(0, 3, 1) // third copy
	for i, tt := range tests {
		if i%every != 0 {
			continue
		}
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			c, err := parseCatalogue(stepsTOML, dangersTOML)
			require.NoError(t, err)
			tt.change(&c)
			p, err := build(tt.site, c)
			require.NoError(t, err)
			if tt.hazard != "" {
				broken := hazardWalks(nil)[tt.hazard](p).broken
				if _, back := broken[tt.want+afterBack]; !back { // the first that the walk meets ends it
					assert.Contains(t, broken, tt.want)
				}
				return
			}
			assert.Contains(t, violations(p, absent[tt.site.Name], tt.want), tt.want)
		})
	}
}

// violations are the invariants that p breaks, as far as the first of each
// walk, until the wanted one is among them.
func violations(p *Procedure, absent []string, want string) []string {
	var found []string
	for _, worths := range append(slices.Clone(phases), twice) {
		for what := range explore(p, absent, worths...).broken {
			if found = append(found, what); what == want {
				return found
			}
		}
	}
	return found
}
