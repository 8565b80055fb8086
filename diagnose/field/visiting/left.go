package visiting

import (
	"fmt"

	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
)

// Left is what a visit left to be done at its site.
type Left struct {
	Found   string   // the leading condition and how sure it is; "" where nothing was inferred
	NotBack []string // what was opened and not put back, with the reason where there is one
	Mended  string   // what was mended in the visit, "" for nothing
	Actions []string // advised and not done in it, each with who may do it and what was agreed; what was seen stands first
}

// LeftWith is the note that a visit is left with something open, and what was decided
// about it, "" for nothing.
func LeftWith(open, decision string) string {
	if decision == "" {
		return fmt.Sprintf(words().Left.Undecided, open)
	}
	return fmt.Sprintf(words().Left.Decided, open, decision)
}

// LeftBy is what the visit left to be done, by its belief. Whether it was done
// since, a later visit has to find out: nothing else tells.
func LeftBy(v *Visit) Left {
	var left Left
	if open := v.course.OpenText(v.state); open != "" {
		left.NotBack = append(left.NotBack, open)
	}
	for _, o := range v.course.Left(v.state) {
		left.NotBack = append(left.NotBack, o.Flag.Text()+": "+o.Reason)
	}
	for _, f := range v.Findings() {
		left.Actions = append(left.Actions, f.String())
	}
	left.Mended = v.Mended()
	r := v.latest
	if r == nil {
		return left
	}
	lead := r.Leader()
	left.Found = fmt.Sprintf("%s (%s, %s)", condition.Of(lead.ID).Title, Likelihood(lead.P), quantity.Percent(lead.P))
	for _, w := range v.OpenWork() {
		for _, a := range w.Actions {
			who := a.Who.Text()
			if w.Who != "" {
				who += "; " + plaintext.Clean(w.Who)
			}
			if w.By != "" {
				who += ", " + plaintext.Clean(w.ByText())
			}
			left.Actions = append(left.Actions, fmt.Sprintf("%s (%s)", a.Do, who))
		}
	}
	return left
}
