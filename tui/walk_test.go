package tui

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// curious is a belief that every reading would still teach something.
func curious(in belief.Input) (*belief.Result, error) {
	r := believing(0.5)
	for _, s := range reading.Specs {
		if !in.Readings.Has(s.Key) {
			r.Gains = append(r.Gains, belief.Gain{Reading: s.Key, Bits: 1})
		}
	}
	return r, nil
}

// keysFor are the keys that answer the step shown as a careful person would
// with whom all is well.
func keysFor(t *testing.T, v visitScreen) []string {
	t.Helper()
	p := v.prompt
	switch {
	case p.Step.Kind == procedure.Say:
		return []string{"A. Mechanic, 3 ?", "enter"}
	case len(p.Step.Checks) > 0:
		return append(slices.Repeat([]string{" ", "down"}, len(p.Step.Checks)), "enter")
	case p.Step.Kind == procedure.Confirm:
		return []string{"1", "enter"}
	case p.Step.Kind == procedure.Act && len(p.Step.Choices) == 0:
		return []string{"enter"}
	case p.Step.Kind == procedure.Choose:
		return append(slices.Repeat([]string{"down"}, len(p.Step.Choices)), "enter")
	case p.Spec.Form == reading.Word, p.Step.Kind == procedure.Act:
		return []string{"1", "enter"}
	}
	figures := map[string]string{"V": "12.9", "A": "1.2", "W/m2": "700", "C": "30", "min": "60", "": "1.25"}
	n := 1
	if p.Spec.Form == reading.List {
		n, _ = reading.ListLen(p.Step.Reading, site.Demo())
	}
	require.Contains(t, figures, p.Spec.Unit)
	return []string{strings.Join(slices.Repeat([]string{figures[p.Spec.Unit]}, n), " "), "enter"}
}

// Every step of the real procedure can be read and answered in the smallest
// window, with its whole caution, and the visit ends at the summary.
func TestEveryStepFitsAndIsAnswered(t *testing.T) {
	opt := realVisits(&inMemory{})
	opt.Infer = curious
	d := drive(nil, opt).press("4", "enter", "enter", "enter")
	seen := map[string]bool{}
	for range 200 {
		v, ok := d.m.screen.(visitScreen)
		if !ok {
			break
		}
		step := v.prompt.Step
		require.NotContains(t, seen, step.ID, "asked twice")
		seen[step.ID] = true
		for _, s := range sizes {
			d.size(s.w, s.h)
			frame := d.m.View()
			flat := strings.Join(strings.Fields(leftColumn(frame, s.w)), " ")
			for _, part := range []string{step.Title, step.Caution, step.Do, step.Meter, step.Probes} {
				assert.Contains(t, flat, strings.Join(strings.Fields(part), " "), "%s at %d x %d:\n%s", step.ID, s.w, s.h, frame)
			}
			if v.typed() {
				assert.Contains(t, flat, "> _", "%s at %d x %d", step.ID, s.w, s.h)
			}
		}
		was := len(d.m.visit.Answers())
		d.press(keysFor(t, v)...)
		if doubted, ok := d.m.screen.(visitScreen); ok && doubted.talk.Doubt() != nil {
			d.press("enter")
		}
		require.Len(t, d.m.visit.Answers(), was+1, "%s was not answered:\n%s", step.ID, d.m.View())
	}
	assert.True(t, showing(d, "Summary of the visit"), d.m.View())
	assert.True(t, d.m.visit.Done())
	assert.Greater(t, len(seen), 30, "the whole ladder was walked")
	assert.Empty(t, d.m.visit.Procedure().Restore(d.m.visit.State()))
}

// leftColumn is the question's part of a frame, where it has several columns.
func leftColumn(frame string, w int) string {
	if w < besideW {
		return frame
	}
	var left []string
	for line := range strings.SplitSeq(frame, "\n") {
		l, _, _ := strings.Cut(line, " | ")
		left = append(left, l)
	}
	return strings.Join(left, "\n")
}
