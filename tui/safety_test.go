package tui

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/charmbracelet/x/ansi"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/scenarios"
)

// questionText is the text of the question on a frame: of columns the left one, all blanks
// as one.
func questionText(frame string) string {
	var list []string
	for line := range strings.SplitSeq(ansi.Strip(frame), "\n") {
		if i := strings.Index(line, columnBar); i >= 0 {
			line = line[:i]
		}
		list = append(list, line)
	}
	return strings.Join(strings.Fields(strings.Join(list, " ")), " ")
}

// mostly guards the test itself.
const mostly = 200

func oneLine(text string) string { return strings.Join(strings.Fields(text), " ") }

// everyStep are the steps of all sites of the practice, each text once: of batteries of
// lead and of lithium, with inverters, chargers and earth electrodes.
func everyStep() []procedure.Step {
	var list []procedure.Step
	met := map[string]bool{}
	for _, s := range scenarios.Embedded() {
		for _, step := range procedure.For(s.Site).Steps {
			key := step.ID + step.Do + step.Caution
			for _, c := range append(slices.Clone(step.Choices), step.Checks...) {
				key += c.Text
			}
			if !met[key] {
				met[key] = true
				list = append(list, step)
			}
		}
	}
	return list
}

// No line of safety is ever hidden: at every step of every kind of site, in every size, all
// of the caution, of what to do, and of a list of signs of danger is on the screen, whatever
// else there is.
func TestSafetyIsNeverHidden(t *testing.T) {
	steps, shown := everyStep(), 0
	for _, id := range []string{"inverter_a", "charger_a", "string_a", "pack_alarm", "plus_earth_v"} {
		require.True(t, slices.ContainsFunc(steps, func(s procedure.Step) bool { return s.ID == id }), id)
	}
	require.Greater(t, len(steps), 60)
	for _, step := range steps {
		spec, _ := reading.SpecOf(step.Reading)
		v := newScript()
		v.steps = []visiting.Prompt{{Step: step, Spec: spec, Hint: "13.10 or 13,10 V", Why: "Of all safe steps now, it can tell the most for its time."}}
		v.latest, v.before = believing(0.61), believing(0.38)
		for _, s := range []size{{60, 20}, {80, 24}, {140, 45}, {200, 60}} {
			d := visitUnderWay(v, options()).size(s.w, s.h)
			if d.m.screen.(visitScreen).prompt.Step.ID != step.ID {
				continue // the end
			}
			shown++
			frame := d.m.View()
			seen := questionText(frame)
			where := fmt.Sprintf("%s at %d x %d\n%s", step.ID, s.w, s.h, frame)
			for _, text := range []string{step.Title, step.Caution, step.Do} {
				assert.Contains(t, seen, oneLine(text), where)
			}
			if step.Rung > procedure.Look {
				continue
			}
			for i, c := range choices(v.steps[0]) {
				assert.Contains(t, seen, fmt.Sprintf("%d ", i+1)+mark(v.steps[0])+oneLine(c.Text), where)
			}
		}
	}
	assert.Greater(t, shown, mostly, "frames looked at")
}

// mark is what stands between the number and the text of a choice.
func mark(p visiting.Prompt) string {
	if p.Step.Kind == procedure.Choose || len(p.Step.Checks) > 0 {
		return "[ ] "
	}
	return ""
}
