package visiting

import (
	"fmt"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/condition"
)

// A Finding is something seen on a visit that is to be put right, whatever the readings
// say: no opening for air at the battery, a fuse that is bridged.
type Finding struct {
	Where string // the title of the step that asked
	Seen  string
	Do    string // what is to be done about it
	Who   condition.Who
}

func (f Finding) String() string { return fmt.Sprintf(words().Finding, f.Do, f.Who.Text(), f.Seen) }

// Findings are what was seen and is to be put right, in the order of the answers.
func (v *Visit) Findings() []Finding {
	var list []Finding
	for _, a := range v.Answers() {
		list = append(list, FindingsOf(v.course, a)...)
	}
	return list
}

// FindingsOf are what one answer says is to be put right.
func FindingsOf(course *procedure.Procedure, a Answer) []Finding {
	s, ok := course.Step(a.Step)
	if !ok || a.Kind != Took && a.Kind != Did {
		return nil
	}
	if a.Step == appliancesStep {
		return deadLoads(s, a)
	}
	var list []Finding
	for i, id := range a.Chosen {
		if do, who := s.RepairOf(id); do != "" {
			list = append(list, Finding{s.Title, readAs(s, a, i), do, condition.Who(who)})
		}
	}
	return list
}

// readAs is the i-th choice of an answer to s in the words that were read, or in those of
// today where the journal has none.
func readAs(s procedure.Step, a Answer, i int) string {
	if len(a.Labels) == len(a.Chosen) {
		return a.Labels[i]
	}
	c, _ := s.Choices.With(a.Chosen[i])
	return c.Text
}

// appliancesStep asks which loads do not work well.
const appliancesStep = "appliances"

// deadLoads are the loads that do not work well: each leads to an action, whatever the
// readings say.
func deadLoads(s procedure.Step, a Answer) []Finding {
	var list []Finding
	for _, label := range a.Chosen {
		w := words().DeadLoad
		list = append(list, Finding{s.Title, label, fmt.Sprintf(w.Do, label), w.Who})
	}
	return list
}
