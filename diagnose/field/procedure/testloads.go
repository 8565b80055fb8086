package procedure

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/site"
)

// unsteady are in the names of loads that come and go by themselves, or draw
// less and less, so that no drop can be judged by them (common practice). A name
// in another language is not known: the current is measured all the same.
var unsteady = []string{"fridge", "refrigerat", "freez", "cool", "pump", "compressor", "charg", "motor", "inverter"}

// maxTestLoads is how many loads are switched on for a test at most.
const maxTestLoads = 3

// TestLoads are the labels of the loads that are switched on together for the
// load step: the largest steady ones, or the largest of all where none is steady.
func TestLoads(s *site.Site) []string {
	loads := slices.Clone(s.Loads)
	slices.SortStableFunc(loads, func(a, b site.Load) int { return cmp.Compare(b.PowerW, a.PowerW) })
	var labels []string
	for _, l := range loads {
		name := strings.ToLower(l.Label)
		if !slices.ContainsFunc(unsteady, func(u string) bool { return strings.Contains(name, u) }) && len(labels) < maxTestLoads {
			labels = append(labels, l.Label)
		}
	}
	if labels == nil && len(loads) > 0 {
		return []string{loads[0].Label}
	}
	return labels
}

// quotedList is labels as a text says them: "a", "b" and "c" in quotes.
func quotedList(labels []string) string {
	quoted := make([]string, len(labels))
	for i, l := range labels {
		quoted[i] = fmt.Sprintf("\"%s\"", plaintext.Clean(l))
	}
	if n := len(quoted); n > 1 {
		return strings.Join(quoted[:n-1], ", ") + " and " + quoted[n-1]
	}
	return strings.Join(quoted, "")
}
