package desk

import (
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/office/review"
)

// A Home is what was said of a visit that came home to a laptop. Its texts are as
// they stand in the reviews.
type Home struct {
	Asked bool                // it was sent back, and nobody has continued it yet
	Whole []string            // of the whole visit: the last decision, comments
	Steps map[string][]string // comments by steps
	Notes []string            // the same, with the titles of the steps
}

// HomeOf puts the reviews of a visit in words. The head is the fingerprint of its
// journal; doubt says why a review does not count, "" if it does.
func HomeOf(v *visiting.Visit, head string, list []review.Entry, doubt func(review.Entry) string) Home {
	h := Home{Steps: map[string][]string{}}
	last := review.Decision(list)
	h.Asked = last != nil && last.Kind == review.SendBack && last.Head == head
	for _, e := range list {
		text := SaidText(e, "")
		if d := doubt(e); d != "" {
			text += " (" + d + ")"
		}
		switch {
		case e.Kind == review.Comment && e.Step != "":
			h.Steps[e.Step] = append(h.Steps[e.Step], text)
			h.Notes = append(h.Notes, StepTitle(v, e.Step)+": "+text)
		case e.Kind == review.Comment, e.Hash == last.Hash:
			h.Whole = append(h.Whole, text)
		}
	}
	return h
}

// Silent reports whether nothing was said.
func (h Home) Silent() bool { return len(h.Whole)+len(h.Notes) == 0 }
