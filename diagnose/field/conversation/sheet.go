package conversation

import (
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
)

// A Row is one question of a sheet.
type Row struct {
	Step  string
	Title string
	Text  string // the answer; "" while it is not answered
	Good  bool   // it is answered, and nothing is against going on
	Here  bool   // it is the question shown
}

// A Sheet is the list that the question shown is on, in the order of asking.
type Sheet struct {
	Title string
	Rows  []Row
}

// Here is the place of the question shown among the rows, from 0; of one that stands for
// several of them, the first that it answers.
func (s Sheet) Here() int {
	open := len(s.Rows) - 1
	for i, r := range s.Rows {
		if r.Here {
			return i
		}
		if r.Text == "" {
			open = min(open, i)
		}
	}
	return max(0, open)
}

// Sheet is the list that the question shown is on; false where it is asked alone.
func (t *Talk) Sheet() (Sheet, bool) {
	of := t.prompt.Step.Sheet
	if of.ID == "" {
		return Sheet{}, false
	}
	st := t.visit.State()
	s := Sheet{Title: of.Title}
	for _, step := range t.visit.Procedure().OnSheet(st, of.ID) {
		mark := st.Mark(step.ID)
		s.Rows = append(s.Rows, Row{
			Step: step.ID, Title: step.Title, Text: visiting.TakesText(t.visit.Takes(step.ID)),
			Good: mark == procedure.Good, Here: step.ID == t.prompt.Step.ID,
		})
	}
	return s, len(s.Rows) > 1
}

// sheetGoesOn reports whether the next question is on the sheet of the one answered last:
// what was seen between the two is thought about when the sheet is full.
func (t *Talk) sheetGoesOn() bool {
	last, ok := t.visit.Procedure().Step(t.last.Step)
	return ok && last.Sheet.ID != "" && t.visit.Prompt().Step.Sheet.ID == last.Sheet.ID
}
