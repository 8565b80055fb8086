package summary

import (
	"fmt"
	"strings"
	"time"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/inference/outlook"
	"ampwalk/diagnose/physics/site"
)

// ahead is how much power there is and until when. What is safe comes before it.
func (f facts) ahead(o *outlook.Outlook) document.Block {
	if o == nil || len(f.lasting()) > 0 {
		return nil
	}
	return document.Paragraph(strings.Join(o.Paper(), " "))
}

// state are the sentences about the state now. Hours at the present draw would stand beside
// those of tonight, where an outlook tells them.
func (f facts) state(o *outlook.Outlook) []string {
	r := *f.result
	if o != nil {
		r.State.HoursToCut = belief.Interval{}
	}
	return visiting.StateSentences(f.site, &r)
}

// tooSmall is the answer where nothing is broken and the loads still go without.
func (f facts) tooSmall(o *outlook.Outlook) []document.Block {
	if o == nil {
		return nil
	}
	if text := o.SmallText(); text != "" {
		return []document.Block{document.Verdict(text)}
	}
	return nil
}

// mostHelps are told of what would help.
const mostHelps = 6

// OfOutlook is an outlook by itself, all of it.
func OfOutlook(s *site.Site, o *outlook.Outlook) document.Document {
	t := texts().Outlook
	d := &sheet{document.Document{Title: t.Title + ": " + s.Name, Subject: t.Subject, At: o.At}}
	d.add(t.Tried, plain(o.Change.Text(s)))
	d.add(t.Now+", "+o.At.Format(timeForm), plain(o.NowText()))
	d.add(t.Tonight, plain(o.TonightText()))
	d.add(t.Plan, plain(o.PlanText()))
	ahead := plain(o.AheadText())
	if text := o.SmallText(); text != "" {
		d.add(t.Ahead, document.Verdict(text), ahead)
	} else {
		d.add(t.Ahead, ahead)
	}
	if o.Year.NeedWh > 0 {
		d.wide(t.Year, months(o))
	}
	d.wide(t.Size, sizes(o)...)
	d.add(t.Help, plain(o.HelpText(mostHelps)))
	return d.Document
}

// months is the table of the year, its worst month marked.
func months(o *outlook.Outlook) document.Table {
	t := texts().Outlook
	table := document.Table{Head: []string{t.Month, t.Sun, t.Yield, t.Need, t.Cut, t.Lowest}}
	for i := range o.Year.Months {
		m := &o.Year.Months[i]
		name := outlook.MonthText(time.Month(i + 1))
		if time.Month(i+1) == o.Year.Worst {
			name = fmt.Sprintf(t.Worst, name)
		}
		row := document.Row(
			name, fmt.Sprintf("%.1f", m.SunH.P50),
			fmt.Sprintf(t.Case, m.YieldWh.P50, m.YieldWh.P05, m.YieldWh.P95),
			fmt.Sprintf("%.0f", m.NeedWh.P50), fmt.Sprintf("%.0f %%", 100*m.Cut), fmt.Sprintf("%.0f %%", 100*m.Lowest.P50),
		)
		for c := range row {
			row[c].Strong = time.Month(i+1) == o.Year.Worst
		}
		table.Rows = append(table.Rows, row)
	}
	return table
}

// sizes are the rules, with their sources below each.
func sizes(o *outlook.Outlook) []document.Block {
	var l document.List
	for _, c := range o.CheckLines() {
		l.Items = append(l.Items, document.Item{Text: fmt.Sprintf("%s: %s, %s", c.Title, c.Value, c.Verdict), Below: []string{c.Rule + " (" + c.Source + ")"}})
	}
	return []document.Block{l}
}
