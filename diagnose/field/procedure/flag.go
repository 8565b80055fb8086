package procedure

import "strings"

// Text says what f means: "the array is isolated".
func (f Flag) Text() string { return embedded().Flags[f] }

// RequiresText says what must be so before s, "" if nothing.
func (s Step) RequiresText() string { return flagsText(s.Requires) }

// ChangesText says what s leaves otherwise than it was, "" if nothing.
func (s Step) ChangesText() string {
	sets := flagsText(s.Sets)
	if s.Kind == Confirm { // it sets them only by its bad answer
		sets = ""
	}
	ends := flagsText(s.Clears)
	if ends != "" {
		ends = strings.ReplaceAll(embedded().Whys.NoLonger, "{what}", ends)
	}
	return strings.Trim(sets+"; "+ends, "; ")
}

func flagsText(fs []Flag) string {
	var list []string
	for _, f := range fs {
		list = append(list, f.Text())
	}
	return strings.Join(list, "; ")
}
