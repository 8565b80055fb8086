package diagnose

import (
	"fmt"
	"slices"

	"ampwalk/diagnose/condition"
)

// considered is the probability from which the actions of a condition beside the
// leading one are advised too, as in the summary.
const considered = 0.2

// Left is what a visit left to be done at its site.
type Left struct {
	Found   string   // the leading condition and how sure it is; "" where nothing was inferred
	NotBack []string // what was opened and not put back, with the reason where there is one
	Mended  string   // what was mended in the visit, "" for nothing
	Actions []string // advised and not done in it, each with who may do it; none where nothing seems wrong
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
	r := v.latest
	if r == nil {
		return left
	}
	lead := r.Leader()
	left.Mended = v.Mended()
	var done []string
	if at := v.mendedAt(); at >= 0 {
		done = v.history[at].Labels
	}
	left.Found = fmt.Sprintf("%s (%s, %s)", condition.Of(lead.ID).Title, Likelihood(lead.P), Percent(lead.P))
	for i, p := range r.Conditions {
		if p.ID == condition.Sound || i > 0 && p.P < considered {
			continue
		}
		for _, a := range ToDo(p, v.Input(), v.course) {
			if a.Done != "" && slices.Contains(done, a.Done) {
				continue
			}
			left.Actions = append(left.Actions, fmt.Sprintf("%s (%s)", a.Do, a.Who))
		}
	}
	return left
}
