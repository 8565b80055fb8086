package diagnose

import (
	"slices"
	"strings"

	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/reading"
)

// ToDo lists what to do about the condition of p, best first. What should wait
// until p is surer, or until a reading that this site's visit can take is
// taken, is not in it.
func ToDo(p belief.Posterior, in belief.Input, course *procedure.Procedure) []condition.Action {
	taken := func(k reading.Key) bool {
		_, ok := course.StepFor(k)
		return in.Readings.Has(k) || !ok
	}
	return condition.Of(p.ID).ToDo(in.Site.Battery.Chemistry, p.P, taken)
}

// mendStep is the step that asks, between the last reading and putting back,
// what was mended.
const mendStep = "mended"

const (
	mendFrom = 0.5 // probability from which mending is offered (a choice of this project)
	mostMend = 2   // actions offered, so that a small screen holds their texts and cautions
)

// A deed is an action that may be done now.
type deed struct {
	condition.Action
	of    condition.ID
	worth float64 // probability times benefit [1/min]
}

// deeds are the actions that mend what is likely wrong and that field staff or
// the caretaker may do, best first: by the chance that each mends it, over its
// minutes and risk.
func (v *Visit) deeds() []deed {
	if v.latest == nil {
		return nil
	}
	var list []deed
	for _, p := range v.latest.Conditions {
		if p.ID == condition.Sound || p.P < mendFrom {
			continue
		}
		for _, a := range ToDo(p, v.Input(), v.course) {
			if a.Done != "" && a.Who != condition.Licensed {
				list = append(list, deed{a, p.ID, p.P * a.Benefit()})
			}
		}
	}
	slices.SortStableFunc(list, func(a, b deed) int {
		switch {
		case a.worth > b.worth:
			return -1
		case a.worth < b.worth:
			return 1
		default:
			return 0
		}
	})
	return list[:min(mostMend, len(list))]
}

// mending is the prompt that offers what can be mended now.
func (v *Visit) mending() (Prompt, bool) {
	step, ok := v.course.Step(mendStep)
	if !ok || v.state.Stopped != "" || v.state.Mark(mendStep) != procedure.Open || len(v.deeds()) == 0 {
		return Prompt{}, false
	}
	p := v.prompt(step)
	p.Why = words().Mend.Why
	return p, true
}

// withDeeds is the mending step with the actions in it: what they are, what to
// beware of, and that each was done to choose from.
func (v *Visit) withDeeds(s procedure.Step) procedure.Step {
	var do, cautions, done, who []string
	for _, d := range v.deeds() {
		do, done = append(do, d.Do), append(done, d.Done)
		if d.Caution != "" && !slices.Contains(cautions, d.Caution) {
			cautions = append(cautions, d.Caution)
		}
		if !slices.Contains(who, string(d.Who)) {
			who = append(who, string(d.Who))
		}
	}
	for _, a := range v.Answers() { // what was chosen stays to choose, whatever is believed now
		if a.Step == mendStep && a.Word == procedure.ActDone {
			for _, l := range a.Labels {
				if !slices.Contains(done, l) {
					done = append(done, l)
				}
			}
		}
	}
	s.Do = strings.TrimSpace(strings.Join(append(do, s.Do), " "))
	s.Caution = strings.Join(cautions, " ")
	s.Who = strings.Join(who, ", ")
	return s.Offering(done...)
}

// mendedAt is the place in the history of the answer that something was mended,
// -1 where nothing was. What is read after it shows another plant.
func (v *Visit) mendedAt() int {
	for i := len(v.history) - 1; i >= 0; i-- {
		if a := v.history[i]; a.Step == mendStep && a.stands() {
			if a.Kind == Did && a.Word == procedure.ActDone {
				return i
			}
			break
		}
	}
	return -1
}

// Mended is what was mended in the visit, in words; "" for nothing.
func (v *Visit) Mended() string {
	i := v.mendedAt()
	if i < 0 {
		return ""
	}
	return v.history[i].Text()
}

// proves reports whether the i-th answer is a reading taken once more after
// something was mended. It stands beside what was found, which the belief keeps.
func (v *Visit) proves(i int) bool {
	at := v.mendedAt()
	a := v.history[i]
	return at >= 0 && i > at && a.Kind == Took && a.Repeats
}

// proof asks once more for the reading that proves what was mended, as soon as
// the plant stands again as it was when that was first taken.
func (v *Visit) proof() (Prompt, bool) {
	at := v.mendedAt()
	if at < 0 || v.state.Stopped != "" {
		return Prompt{}, false
	}
	mended := v.history[at]
	for _, c := range condition.All() {
		for _, a := range c.ActionsFor(v.site.Battery.Chemistry) {
			if a.Done == "" || !slices.Contains(mended.Labels, a.Done) || v.latest != nil && v.latest.Of(c.ID) < mendFrom {
				continue
			}
			step, ok := v.course.StepFor(a.Proof.Reading)
			if !ok || !v.course.Repeatable(v.state, step.ID) || v.provedAfter(step.ID, at) {
				continue
			}
			return v.once(step, strings.ReplaceAll(words().Mend.Proof, "{shows}", a.Proof.Shows)), true
		}
	}
	return Prompt{}, false
}

// provedAfter reports whether the reading of the step was asked for once more
// after the answer at.
func (v *Visit) provedAfter(step string, at int) bool {
	return slices.ContainsFunc(v.history[at:], func(a Answer) bool { return a.Step == step && a.Repeats })
}
