package visiting

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/base/day"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
)

// OpenWork is what a visit found likely and did not mend.
type OpenWork struct {
	Found   belief.Posterior
	Actions []condition.Action // advised and not done, best first
	Who, By string             // who sees to it and by when, as agreed; "" where that was not said
	Day     time.Time          // that By names, zero for none
}

// ByText is by when, with the date where it was said in another way.
func (w OpenWork) ByText() string {
	if w.Day.IsZero() || strings.Contains(w.By, w.Day.Format(time.DateOnly)) {
		return w.By
	}
	return fmt.Sprintf(words().Work.Day, w.By, w.Day.Format("2 Jan 2006"))
}

// considered is the probability from which the actions of a condition beside the
// leading one are advised too, as in the summary.
const considered = 0.2

// OpenWork is what is left to be done by the latest belief, the likeliest first.
func (v *Visit) OpenWork() []OpenWork {
	if v.latest == nil {
		return nil
	}
	var list []OpenWork
	for i, p := range v.latest.Conditions {
		if p.ID == condition.Sound || i > 0 && p.P < considered {
			continue
		}
		w := OpenWork{Found: p, Actions: slices.DeleteFunc(ToDo(p, v.Input(), v.course), func(a condition.Action) bool {
			return slices.ContainsFunc(v.Repairs(), func(r Repair) bool { return r.Condition == p.ID && r.Action.ID == a.ID && a.Done != "" })
		})}
		if len(w.Actions) == 0 { // all was tried: it stays to be done
			w.Actions = ToDo(p, v.Input(), v.course)
		}
		if a, ok := v.agreed(p.ID); ok && len(w.Actions) > 0 {
			w.Who, w.By, _ = strings.Cut(a.Reason, ",")
			w.Who, w.By = strings.TrimSpace(w.Who), strings.TrimSpace(w.By)
			w.Day, _ = day.Read(w.By, a.At)
		}
		if len(w.Actions) > 0 {
			list = append(list, w)
		}
	}
	return list
}

// agreeSteps ask who sees to what stays open, each for one finding, before the
// next visit is agreed (beforeStep). The actions of a finding follow on each
// other, so one person sees to them.
var agreeSteps = []string{"open-work", "open-work-too"}

// seenStep asks likewise about all that was seen and is to be put right.
const seenStep = "open-work-seen"

// SeenBy is who sees to what was seen and by when, as agreed; "" where that was not said.
func (v *Visit) SeenBy() (who, by string) {
	for _, a := range v.Answers() {
		if a.Step == seenStep && a.Kind == Did {
			who, by, _ = strings.Cut(a.Reason, ",")
		}
	}
	return strings.TrimSpace(who), strings.TrimSpace(by)
}

const beforeStep = "next-visit"

// agreed is the answer about the work on a finding.
func (v *Visit) agreed(id condition.ID) (Answer, bool) {
	answers := v.Answers()
	i := slices.IndexFunc(answers, func(a Answer) bool {
		return slices.Contains(agreeSteps, a.Step) && a.Kind == Did && a.About == string(id)
	})
	if i < 0 {
		return Answer{}, false
	}
	return answers[i], true
}

// agreeing is the prompt that asks who sees to what is not asked about yet.
func (v *Visit) agreeing() (Prompt, bool) {
	for _, id := range agreeSteps {
		step, ok := v.course.Step(id)
		if !ok || v.state.Mark(id) != procedure.Open {
			continue
		}
		if _, ok := v.workFor(id); ok {
			p := v.prompt(step)
			p.Why = words().Work.Why
			return p, true
		}
	}
	if step, ok := v.course.Step(seenStep); ok && v.state.Mark(seenStep) == procedure.Open && len(v.Findings()) > 0 {
		p := v.prompt(step)
		p.Why = words().Work.Why
		return p, true
	}
	return Prompt{}, false
}

// workFor is the finding that a step asks about, or was asked about.
func (v *Visit) workFor(step string) (condition.Condition, bool) {
	for _, a := range v.Answers() {
		if a.Step != step || a.Kind != Did {
			continue
		}
		if c := condition.OfSite(condition.ID(a.About), v.site); c.ID != "" {
			return c, true
		}
	}
	for _, w := range v.OpenWork() {
		if _, ok := v.agreed(w.Found.ID); !ok {
			return condition.OfSite(w.Found.ID, v.site), true
		}
	}
	return condition.Condition{}, false
}

// withWork is a step of agreeSteps with the finding in its text.
func (v *Visit) withWork(s procedure.Step) procedure.Step {
	if s.ID == seenStep {
		var seen []string
		for _, f := range v.Findings() {
			seen = append(seen, f.Seen)
		}
		s.Do = strings.ReplaceAll(words().Work.Seen, "{seen}", strings.Join(seen, "; ")) + " " + s.Do
		return s
	}
	c, ok := v.workFor(s.ID)
	if !ok || v.latest == nil {
		return s
	}
	var who []string
	for _, a := range c.ActionsFor(v.site.Battery.Chemistry) {
		if !slices.Contains(who, a.Who.Text()) {
			who = append(who, a.Who.Text())
		}
	}
	s.Who = strings.Join(who, ", ")
	found := c.Title
	if p := v.latest.Of(c.ID); p > 0 {
		found = fmt.Sprintf("%s (%s, %s)", c.Title, Likelihood(p), quantity.Percent(p))
	}
	s.Do = strings.NewReplacer("{found}", found, "{who}", s.Who).Replace(words().Work.Found) + " " + s.Do
	return s
}
