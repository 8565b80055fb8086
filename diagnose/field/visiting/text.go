package visiting

import (
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// Text is the answer in words: "13.10 V", "clear", "ward lamps, radio",
// "not taken: cover is locked".
func (a Answer) Text() string {
	spec, _ := reading.SpecOf(a.Reading)
	text := a.Word
	switch {
	case a.Kind == Cannot:
		text = "not taken: " + a.Reason
	case a.Kind == Stop:
		text = "stopped: " + a.Reason
	case a.Kind == Note:
		text = a.Reason
	case a.Number != nil:
		text = quantity.Format(spec.Shown(*a.Number), spec.Unit)
	case a.List != nil:
		text = FormatList(a.List, spec.Unit)
	case (a.Step == seenStep || slices.Contains(agreeSteps, a.Step)) && a.Reason == "":
		text = words().Work.Nobody
	case a.Step == seenStep || slices.Contains(agreeSteps, a.Step):
		text = a.Reason
	case a.Kind == Did && len(a.Labels) > 0:
		text = strings.Join(a.Labels, "; ")
		if a.Reason != "" {
			text += ", " + a.Reason
		}
	case a.Word != "" && a.Reason != "":
		text = a.Word + ", " + a.Reason
	case a.Word == "" && len(a.Labels) == 0:
		text = "none"
	case a.Word == "":
		text = strings.Join(a.Labels, ", ")
	}
	if a.Doubted {
		text += " (doubtful)"
	}
	return plaintext.Clean(text)
}

// FormatList writes several values of one unit, the unit at the end.
func FormatList(list []float64, unit string) string {
	parts := make([]string, len(list))
	for i, x := range list {
		parts[i] = quantity.Format(x, unit)
		if i < len(list)-1 {
			parts[i] = bare(parts[i])
		}
	}
	return strings.Join(parts, " ")
}

// bare is a formatted quantity without its unit.
func bare(text string) string {
	number, _, _ := strings.Cut(text, " ")
	return number
}
