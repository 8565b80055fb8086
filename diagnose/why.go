package diagnose

import (
	"fmt"
	"math"
	"slices"

	"ampwalk/diagnose/belief"
	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/procedure"
	"ampwalk/diagnose/quantity"
	"ampwalk/diagnose/reading"
)

// Because says in plain sentences what the n strongest readings speak for.
func (v *Visit) Because(n int) []string {
	if v.latest == nil {
		return nil
	}
	return Because(v.latest, v.readings, v.course, n)
}

// Because says in plain sentences what the n strongest of the readings speak
// for by the belief r, or that they agree. The titles are those of the
// procedure's steps.
func Because(r *belief.Result, set *reading.Set, course *procedure.Procedure, n int) []string {
	var list []string
	for _, e := range r.Evidence {
		if len(list) == n {
			break
		}
		if !set.Has(e.Reading) || verdictOn(r, e) == "" {
			continue
		}
		list = append(list, because(r, e, set, course))
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
		text = fmt.Sprintf(w.WithRange, Title(course, e.Reading), ValueText(set, e.Reading), FormatRange(e.Sound, spec.Unit))
	}
	return text + " " + verdictOn(r, e)
}

// verdictOn is what the reading speaks for, "" if for nothing much.
func verdictOn(r *belief.Result, e belief.Evidence) string {
	w := words().Why
	if s := wordFor(words().Strength, e.AgainstSound); s != "" {
		return fmt.Sprintf(w.AgainstSound, s)
	}
	if len(r.Conditions) < 2 || r.Conditions[1].P < rivalFrom {
		return ""
	}
	first, second := r.Conditions[0].ID, r.Conditions[1].ID
	if e.ForLeader < 0 {
		first, second = second, first
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
	return string(k)
}

// ValueText is the value of k in the set with its unit, "" if it has none.
func ValueText(set *reading.Set, k reading.Key) string {
	spec, _ := reading.SpecOf(k)
	if x, ok := set.Numbers[k]; ok {
		return quantity.Format(x, spec.Unit)
	}
	if list, ok := set.Lists[k]; ok {
		return FormatList(list, spec.Unit)
	}
	return set.Words[k]
}

// FormatRange writes a range as "13.20 to 14.40 V".
func FormatRange(r belief.Range, unit string) string {
	ends := []float64{r.Lo, r.Hi}
	slices.Sort(ends)
	lo, hi := quantity.Format(ends[0], unit), quantity.Format(ends[1], unit)
	return bare(lo) + " to " + hi
}
