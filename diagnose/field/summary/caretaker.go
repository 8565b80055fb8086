package summary

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/site"
)

// ForCaretaker is one page for those who live with the system: what works, what
// to switch off first, what to look at each week, whom to call.
func ForCaretaker(v *visiting.Visit, b Beside) document.Document {
	f, t := factsOf(v), texts().Caretaker
	d := &sheet{f.titled(t.Title, b)}
	d.Subject, d.Large = t.Subject, true
	d.add(t.Heading.Danger, f.cards()...)
	d.add(t.Heading.NotBack, f.notBack(t.NotBack))
	if f.result != nil && !f.thin() {
		works, wrong, unclear := f.plainState()
		d.add(t.Heading.Now, document.Paragraph(f.batteryNow(b.Outlook)))
		if len(f.lasting()) == 0 && b.Outlook != nil {
			d.add(t.Heading.Outlook, plain(b.Outlook.Sheet()))
		}
		d.add(t.Heading.Works, works)
		d.add(t.Heading.Wrong, append(wrong, f.tooSmall(b.Outlook)...)...)
		d.add(t.Heading.Unclear, unclear)
	}
	d.add(t.Heading.Repair, f.plainFindings())
	d.add(t.Heading.Off, f.switchOff()...)
	d.add(t.Heading.Weekly, f.chemistryList(t.Weekly))
	d.add(t.Heading.Never, f.chemistryList(t.Never))
	d.add(t.Heading.Call, f.agreements(), document.Blanks(t.Call))
	return d.Document
}

// plainState sorts what is believed of the system.
func (f facts) plainState() (works document.List, wrong []document.Block, unclear document.List) {
	t := texts().Caretaker
	st := f.result.State
	dark := st.Daylight <= 1-decided // that nothing charges then is no fault
	for _, q := range t.Question {
		var p float64
		good := true // that the answer is yes
		switch q.ID {
		case "daylight":
			p = st.Daylight
			if dark {
				unclear.Items = append(unclear.Items, document.Item{Text: q.No})
				continue
			}
		case "charging":
			if dark {
				continue
			}
			p = st.Charging
		case "loads_cut":
			if !f.site.Controller.LoadOutput {
				continue
			}
			p, good = st.LoadsCut, false
		}
		text, yes := q.No, p >= 0.5
		if yes {
			text = q.Yes
		}
		switch {
		case p < decided && p > 1-decided:
			unclear.Items = append(unclear.Items, document.Item{Text: q.Unsure})
		case yes == good:
			works.Items = append(works.Items, document.Item{Text: text})
		default:
			wrong = append(wrong, document.Paragraph(text))
		}
	}
	if lead := f.leader(); lead.ID == condition.Sound && lead.P >= likely {
		if len(f.lasting()) > 0 || len(f.visit.Findings()) > 0 { // it would say that all is well
			return works, wrong, unclear
		}
		works.Items = append(works.Items, document.Item{Text: t.Sound})
		return works, wrong, unclear
	}
	return works, append(wrong, f.plainFault()...), unclear
}

// plainFault is what is wrong and who does what about it.
func (f facts) plainFault() []document.Block {
	t := texts().Caretaker
	lead := f.leader()
	c := condition.OfSite(lead.ID, f.site)
	if lead.ID == condition.Sound {
		other := f.result.Conditions[min(1, len(f.result.Conditions)-1)]
		return []document.Block{document.Paragraph(fmt.Sprintf(t.NotSure, condition.Of(other.ID).Title))}
	}
	first := document.Block(document.Verdict(c.Title + ". " + c.Meaning))
	if lead.P < decided {
		first = document.Paragraph(fmt.Sprintf(t.NotSure, c.Title))
	}
	var l document.List
	helped := false // one thing that others do is enough to call them
	for _, a := range visiting.ToDo(lead, f.input(), f.course) {
		switch {
		case a.Who == condition.Caretaker:
			l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.Yourself, a.Do)})
		case !helped:
			l.Items, helped = append(l.Items, document.Item{Text: fmt.Sprintf(t.Help, a.Do)}), true
		}
	}
	return []document.Block{first, l}
}

// plainFindings are what was seen and is to be put right: what the caretaker can do,
// then what others are called for.
func (f facts) plainFindings() document.List {
	t := texts().Caretaker
	var l document.List
	help := map[string][]string{} // what was seen, by where
	var places []string
	for _, x := range f.visit.Findings() {
		if x.Who == condition.Caretaker {
			l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.Yourself, x.Do)})
			continue
		}
		if help[x.Where] == nil {
			places = append(places, x.Where)
		}
		help[x.Where] = append(help[x.Where], x.Seen)
	}
	for _, where := range places {
		l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.RepairHelp, where, strings.Join(help[where], "; "))})
	}
	return l
}

// agreements are who sees to what was found, and when the next visit is.
func (f facts) agreements() document.List {
	t := texts().Caretaker
	var l document.List
	for _, w := range f.visit.OpenWork() {
		if w.Who == "" {
			continue
		}
		text := fmt.Sprintf(t.Agreed, condition.Of(w.Found.ID).Title, w.Who)
		if w.By != "" {
			text += ", " + w.ByText()
		}
		l.Items = append(l.Items, document.Item{Text: text + "."})
	}
	if _, next, ok := f.visit.NextVisit(); ok {
		l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.Next, next)})
	}
	return l
}

// batteryNow tells no hours at the present use where an outlook tells those of tonight.
func (f facts) batteryNow(o *outlook.Outlook) string {
	t := texts().Caretaker
	st := f.result.State
	text := fmt.Sprintf(t.Charge, 100*st.ChargeLevel.Mean)
	if h := st.HoursToCut.Mean; o == nil && h >= 1 && h < longest && !math.IsInf(h, 0) {
		text += " " + fmt.Sprintf(t.Lasts, quantity.Hours(h))
	}
	return text
}

// switchOff lists the loads in the order to switch them off: what matters least,
// and of that the largest, first.
func (f facts) switchOff() []document.Block {
	if len(f.site.Loads) == 0 {
		return nil
	}
	t := texts().Caretaker
	loads := slices.Clone(f.site.Loads)
	slices.SortStableFunc(loads, func(a, b site.Load) int {
		return cmp.Or(cmp.Compare(b.Priority, a.Priority), cmp.Compare(b.PowerW, a.PowerW))
	})
	l := document.List{Numbered: true}
	for _, x := range loads {
		l.Items = append(l.Items, document.Item{Text: fmt.Sprintf(t.OffItem, x.Label, x.PowerW)})
	}
	return []document.Block{document.Paragraph(t.Off), l}
}

func (f facts) chemistryList(texts []chemistryText) document.List {
	var l document.List
	for _, x := range texts {
		if len(x.Chemistries) == 0 || slices.Contains(x.Chemistries, f.site.Battery.Chemistry) {
			l.Items = append(l.Items, document.Item{Text: x.Text})
		}
	}
	return l
}
