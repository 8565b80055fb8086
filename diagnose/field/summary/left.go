package summary

import (
	"fmt"
	"slices"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/condition"
)

// fewest are the instrument readings from which on a state of the system is told: below
// that it would be made of what is common, not of what was found (a choice of this
// project).
const fewest, fewestOfKit = 3, 2 // a closed kit has few

// thin reports whether too little was measured to tell a state.
func (f facts) thin() bool {
	if f.site.Kit != nil {
		return f.readings.Measured() < fewestOfKit
	}
	return f.readings.Measured() < fewest
}

// lasting are the dangers of the visit that are not over, the worst first.
func (f facts) lasting() []procedure.Danger {
	if f.visit == nil {
		return nil
	}
	return slices.DeleteFunc(f.course.Dangers(f.visit.State()), func(d procedure.Danger) bool { return d.Over })
}

// cards say what to do now about each danger.
func (f facts) cards() []document.Block {
	t := texts().Sentence
	var blocks []document.Block
	for _, d := range f.lasting() {
		title := d.Title + "."
		if d.Safe {
			title = fmt.Sprintf(t.MadeSafe, d.Title)
		}
		l := document.List{Numbered: true}
		for _, line := range d.Card {
			l.Items = append(l.Items, document.Item{Text: line})
		}
		blocks = append(blocks, document.Verdict(title), l)
	}
	return blocks
}

// asFound is what the plant was before anything was repaired in the visit.
func (f facts) asFound() facts {
	if f.visit == nil || f.visit.Mended() == "" {
		return f
	}
	f.readings, f.result = f.visit.FoundInput().Readings, f.visit.Found()
	return f
}

// repairs are what was found, what was repaired, and whether that worked.
func (f facts) repairs() []document.Block {
	if f.visit == nil {
		return nil
	}
	list := f.visit.Repairs()
	if len(list) == 0 {
		return nil
	}
	t := texts()
	var blocks []document.Block
	if found := f.asFound(); found.result != nil {
		lead := found.result.Leader()
		blocks = append(blocks, document.Paragraph(said(t.Sentence.Decided, lead)))
	}
	var l document.List
	for _, r := range list {
		l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.Repair[r.Outcome], condition.Of(r.Condition).Title, r.Action.Done, visiting.Title(f.course, r.Action.Proof.Reading))})
	}
	return append(blocks, l)
}
