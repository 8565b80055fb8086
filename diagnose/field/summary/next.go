package summary

import (
	"cmp"
	"fmt"
	"strings"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
)

// next is what follows from what was found, in a line or two: what to do first, who does it
// and by when; and after a shorter visit what a full one would still take.
func (f facts) next() document.Facts {
	t := texts().Next
	var list document.Facts
	if do, who, by := f.first(); do != "" {
		list = append(list, document.Fact{Name: t.Do, Value: fmt.Sprintf(t.Agreed, strings.TrimSuffix(do, "."), who, by)})
	}
	if f.visit == nil {
		return list
	}
	if more := f.visit.Fuller(); more != "" {
		list = append(list, document.Fact{Name: t.Depth[f.visit.Head().Depth], Value: more})
	}
	return list
}

// first is the first thing to do, "" for nothing: about the condition that is likely, else
// about what was seen. What keeps a healthy system so stands further below.
func (f facts) first() (do, who, by string) {
	lead := f.leader()
	if f.visit != nil && (lead.ID == condition.Sound || lead.P < likely) {
		if list := f.visit.Findings(); len(list) > 0 {
			who, by = f.visit.SeenBy()
			return list[0].Do, cmp.Or(who, list[0].Who.Text()), cmp.Or(by, texts().When.Words[condition.Later])
		}
	}
	if lead.ID == condition.Sound {
		return "", "", ""
	}
	todo := visiting.ToDo(lead, f.input(), f.course)
	if len(todo) == 0 {
		return "", "", ""
	}
	if f.visit != nil {
		for _, w := range f.visit.OpenWork() {
			if w.Found.ID == lead.ID {
				who, by = w.Who, w.ByText()
			}
		}
	}
	return todo[0].Do, cmp.Or(who, todo[0].Who.Text()), cmp.Or(by, f.deadline(lead.ID))
}
