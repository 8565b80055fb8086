package summary

import (
	"cmp"
	"fmt"
	"strings"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
)

// card is the verdict before everything else: what is wrong, as found and as left, how
// sure that is, what to do next, who does it and by when.
func (f facts) card() document.Facts {
	t := texts().Card
	var card document.Facts
	add := func(name, value string) {
		if value != "" {
			card = append(card, document.Fact{Name: name, Value: value})
		}
	}
	if f.result == nil || f.thin() {
		add(t.Found, t.Nothing)
	} else {
		name := t.Found
		if f.visit != nil && len(f.visit.Repairs()) > 0 {
			if found := f.asFound(); found.result != nil {
				add(t.AsFound, found.headline())
			}
			name = t.AsLeft
		}
		add(name, f.headline())
		for _, p := range f.others(together) {
			if f.joins(p) {
				add(t.Also, headlineOf(p.ID, p.P))
			}
		}
	}
	f.next(add)
	if f.visit != nil {
		add(t.Open, strings.Join(visiting.LeftBy(f.visit).NotBack, "; "))
		add(t.Quick, f.visit.Fuller())
	}
	return card
}

func (f facts) headline() string { return headlineOf(f.leader().ID, f.leader().P) }

func headlineOf(id condition.ID, p float64) string {
	return fmt.Sprintf(texts().Sentence.Other, condition.Of(id).Title, visiting.Likelihood(p), visiting.Percent(p))
}

// next is the first thing to do: about what was seen, or else about the leading condition.
func (f facts) next(add func(name, value string)) {
	t := texts().Card
	who, by := "", ""
	if f.visit != nil {
		if list := f.visit.Findings(); len(list) > 0 {
			who, by = f.visit.SeenBy()
			add(t.Next, list[0].Do)
			add(t.Who, cmp.Or(who, list[0].Who.Text()))
			add(t.By, cmp.Or(by, texts().When.Words[condition.Later]))
			return
		}
	}
	if f.result == nil || f.thin() {
		return
	}
	lead := f.leader()
	todo := visiting.ToDo(lead, f.input(), f.course)
	if len(todo) == 0 {
		return
	}
	if f.visit != nil {
		for _, w := range f.visit.OpenWork() {
			if w.Found.ID == lead.ID {
				who, by = w.Who, w.By
			}
		}
	}
	add(t.Next, todo[0].Do)
	add(t.Who, cmp.Or(who, todo[0].Who.Text()))
	add(t.By, cmp.Or(by, f.deadline(lead.ID)))
}
