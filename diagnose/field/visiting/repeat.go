package visiting

import "strings"

// Takes are the values of a step that stand beside one another: its standing
// answer last, before it those that it repeats. A correction takes the place of
// all before it; nil where the step has no answer. The belief goes by the last:
// the plant may have changed since the others, and the same hand and instrument
// err alike.
func (v *Visit) Takes(step string) []Answer {
	var list []Answer
	for i, a := range v.history {
		switch {
		case a.Step != step || !a.stands():
		case a.Repeats, v.proves(i):
			list = append(list, a)
		default:
			list = []Answer{a}
		}
	}
	return list
}

// stands reports whether a is the standing answer of its step until the next one:
// a note answers nothing, nor does what was held and is not so, and a reading that could not be taken once more leaves
// what was read before.
func (a Answer) stands() bool { return a.Kind != Note && !a.void && (a.Kind == Took || !a.Repeats) }

// TakesText is what was answered to a step in words, "12.20 V, then 12.40 V"
// where it was taken more than once.
func TakesText(takes []Answer) string {
	texts := make([]string, len(takes))
	for i, a := range takes {
		texts[i] = a.Text()
	}
	return strings.Join(texts, ", then ")
}
