package visiting

import (
	"fmt"
	"time"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/site"
)

// A Conclusion is what was believed when a visit ended, kept with it: it can be
// found and compared without inferring again, and a later engine that sees the
// same readings differently can be told from this one.
type Conclusion struct {
	At         time.Time            `json:"at"`         // of the last answer
	Conditions []ConditionPosterior `json:"conditions"` // the leading one and all that are worth naming
	State      StateAnswers         `json:"state"`
	Suspect    []SuspectReading     `json:"suspect,omitempty"`  // probably wrong readings that were kept
	Left       []Outstanding        `json:"left,omitempty"`     // to be done
	NotBack    []string             `json:"not_back,omitempty"` // opened and not put back, with the reason where there is one
	Skipped    []string             `json:"skipped,omitempty"`  // steps whose precautions were not confirmed
	Battery    Battery              `json:"battery"`
}

// Battery is what a programme wants to know of a site's battery beside its health.
type Battery struct {
	Chemistry  site.Chemistry `json:"chemistry"`
	CapacityAh float64        `json:"capacity_ah"`
	Installed  string         `json:"installed,omitempty"` // month, 2006-01
}

// Outstanding is what was found and stays to be done.
type Outstanding struct {
	Condition condition.ID `json:"condition"`
	Who       string       `json:"who,omitempty"` // as agreed
	By        string       `json:"by,omitempty"`  // likewise
	Due       string       `json:"due,omitempty"` // day, 2006-01-02; "" where none follows
}

// Leader is the most probable condition, the zero value where none was kept.
func (c *Conclusion) Leader() ConditionPosterior {
	if len(c.Conditions) == 0 {
		return ConditionPosterior{}
	}
	return c.Conditions[0]
}

// concludedFrom is the probability from which a condition beside the leading one is kept.
const concludedFrom = 0.05

// conclusionOf puts a belief in the words of a record.
func conclusionOf(r *belief.Result) *Conclusion {
	told := newInterpretation(r)
	c := &Conclusion{State: told.State}
	for i, p := range told.Conditions {
		if i == 0 || p.Probability >= concludedFrom {
			c.Conditions = append(c.Conditions, p)
		}
	}
	for _, s := range told.Suspect {
		if s.Probability >= recheckFrom {
			c.Suspect = append(c.Suspect, s)
		}
	}
	return c
}

// Conclude keeps what is believed at the end of a visit. It does nothing where
// the visit goes on, where the belief is not known, or where nothing was answered
// since the last conclusion or since the visit was taken up again.
func (v *Visit) Conclude() error {
	if v.journal == nil || v.latest == nil || v.concluded == v.Seq() || !v.Done() {
		return nil
	}
	c := conclusionOf(v.latest)
	c.At = v.history[len(v.history)-1].At
	c.NotBack = LeftBy(v).NotBack
	for _, a := range v.Answers() {
		if step, ok := v.course.Step(a.Step); ok && step.Kind == procedure.Confirm && (a.Kind == Cannot || a.Kind == Did && a.Word != step.Good) {
			c.Skipped = append(c.Skipped, a.Step)
		}
	}
	b := v.site.Battery
	c.Battery = Battery{Chemistry: b.Chemistry, CapacityAh: b.CapacityAh, Installed: b.Installed}
	for _, w := range v.OpenWork() {
		c.Left = append(c.Left, Outstanding{Condition: w.Found.ID, Who: w.Who, By: w.By, Due: v.due(w)})
	}
	if err := v.journal.Append(Entry{Conclusion: c}); err != nil {
		return fmt.Errorf(words().Problem.NoConclusion, err)
	}
	v.concluded = v.Seq()
	return nil
}

// soonDays is within how many days of a visit is seen to what leaves the site
// without power (judgement).
const soonDays = 7

// due is the day by which work is to be done: the one agreed where one was named, or else what the urgency of the condition makes of the day of the visit
// and of the next.
func (v *Visit) due(w OpenWork) string {
	if !w.Day.IsZero() {
		return w.Day.Format(time.DateOnly)
	}
	last := v.history[len(v.history)-1].At
	switch condition.Of(w.Found.ID).Urgency {
	case condition.Now:
		return last.Format(time.DateOnly)
	case condition.Soon:
		return last.AddDate(0, 0, soonDays).Format(time.DateOnly)
	case condition.Later:
		if days, _, ok := v.NextVisit(); ok {
			return last.AddDate(0, 0, days).Format(time.DateOnly)
		}
	}
	return ""
}

// NextVisit is within how many days the next visit was agreed to be, and in what words;
// false where none was agreed.
func (v *Visit) NextVisit() (days int, said string, ok bool) {
	for _, a := range v.Answers() {
		if a.Step != beforeStep || a.Kind != Did {
			continue
		}
		s, _ := v.course.Step(beforeStep)
		for i, id := range a.Chosen {
			if days, ok := words().Work.Days[id]; ok {
				return days, readAs(s, a, i), true
			}
		}
	}
	return 0, "", false
}
