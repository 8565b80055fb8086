package visiting

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
)

// Because says in plain sentences what the n strongest readings speak for.
func (v *Visit) Because(n int) []string {
	if v.latest == nil {
		return nil
	}
	return Because(v.latest, v.readings, v.course, n)
}

// Because says in plain sentences what the n strongest of the readings speak
// for by the belief r, or that they agree: first those that a sound system
// would not show, which may be strong only together. The titles are those of
// the procedure's steps.
func Because(r *belief.Result, set *reading.Set, course *procedure.Procedure, n int) []string {
	var list, others []string
	for _, e := range r.Evidence {
		switch {
		case !set.Has(e.Reading):
		case Surprising(set, e) && r.Leader().ID != condition.Sound:
			list = append(list, because(r, e, set, course))
		case verdictOn(r, e, set) != "":
			others = append(others, because(r, e, set, course))
		}
	}
	list = append(list, others...)
	list = list[:min(n, len(list))]
	if list == nil && len(r.Evidence) > 0 && r.Leader().ID != condition.Sound {
		return []string{fmt.Sprintf(words().Why.Together, condition.Of(r.Leader().ID).Title)}
	}
	if list == nil && len(r.Evidence) > 0 {
		return []string{words().Why.Agree}
	}
	return list
}

// rivalFrom is the probability from which the runner-up is worth arguing with.
const rivalFrom = 0.02

func because(r *belief.Result, e belief.Evidence, set *reading.Set, course *procedure.Procedure) string {
	w := words().Why
	text := fmt.Sprintf(w.Plain, Title(course, e.Reading), ValueText(set, e.Reading))
	if e.HasRange {
		spec, _ := reading.SpecOf(e.Reading)
		text = fmt.Sprintf(w.WithRange, Title(course, e.Reading), ValueText(set, e.Reading), FormatRange(e.Sound, spec))
	}
	verdict := verdictOn(r, e, set)
	if verdict == "" {
		verdict = w.Outside
	}
	return text + " " + verdict
}

// marginOf is how far beyond its range a number must lie to be called surprising, as a
// part of the range (a choice of this project).
const marginOf = 0.1

// wordAgainst is the log10 against a sound system from which a word is called
// surprising (a choice of this project).
const wordAgainst = 1.0

// Surprising reports whether a sound system in the circumstances of the visit
// would hardly show what the set has for e.
func Surprising(set *reading.Set, e belief.Evidence) bool {
	if !e.HasRange {
		return e.AgainstSound >= wordAgainst
	}
	values := set.Lists[e.Reading]
	if x, ok := set.Numbers[e.Reading]; ok {
		values = []float64{x}
	}
	return slices.ContainsFunc(values, func(x float64) bool { return !e.Sound.Holds(x, marginOf) })
}

// verdictOn is what the reading speaks for, "" if for nothing much. One that a
// sound system would show just as well does not speak against it to a reader,
// however it weighs beside the others.
func verdictOn(r *belief.Result, e belief.Evidence, set *reading.Set) string {
	w := words().Why
	fits := e.HasRange && !Surprising(set, e)
	if s := wordFor(words().Strength, e.AgainstSound); s != "" && !fits {
		return fmt.Sprintf(w.AgainstSound, s)
	}
	if len(r.Conditions) < 2 || r.Conditions[1].P < rivalFrom {
		return ""
	}
	first, second := r.Conditions[0].ID, r.Conditions[1].ID
	if e.ForLeader < 0 {
		first, second = second, first
	}
	if fits && second == condition.Sound {
		return ""
	}
	s := wordFor(words().Strength, math.Abs(e.ForLeader))
	if s == "" {
		return ""
	}
	return fmt.Sprintf(w.ForLeader, s, condition.Of(first).Title, condition.Of(second).Title)
}

// Title is what the step that takes k is called at the site of the procedure.
func Title(course *procedure.Procedure, k reading.Key) string {
	if s, ok := course.StepFor(k); ok {
		return s.Title
	}
	return procedure.TitleOf(k)
}

// ValueText is the value of k in the set with its unit, and the sign that people
// see; "" if it has none.
func ValueText(set *reading.Set, k reading.Key) string {
	spec, _ := reading.SpecOf(k)
	if x, ok := set.Numbers[k]; ok {
		return quantity.Format(spec.Shown(x), spec.Unit)
	}
	if list, ok := set.Lists[k]; ok {
		return FormatList(list, spec.Unit)
	}
	if ids, ok := set.Several[k]; ok {
		if len(ids) == 0 {
			return words().Noted.None
		}
		var texts []string
		for _, id := range ids {
			texts = append(texts, procedure.ChoiceText(k, id))
		}
		return strings.Join(texts, "; ")
	}
	if spec.Form == reading.YesNo && set.Words[k] != "" {
		return words().Noted.YesNo[set.Words[k]]
	}
	return procedure.ChoiceText(k, set.Words[k])
}

// FormatRange writes a range of a reading as "13.20 to 14.40 V", or as "0.00 to 0.10 or
// 13.20 to 14.40 V", with the signs that people see.
func FormatRange(r belief.Range, spec reading.Spec) string {
	var list []string
	var most string
	for _, p := range r.As(spec.Shown).Pieces() {
		most = quantity.Format(p.Hi, spec.Unit)
		list = append(list, bare(quantity.Format(p.Lo, spec.Unit))+" to "+bare(most))
	}
	return strings.Join(list, " or ") + strings.TrimPrefix(most, bare(most))
}
