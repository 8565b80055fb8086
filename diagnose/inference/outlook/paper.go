package outlook

import (
	"fmt"
	"slices"

	"ampwalk/diagnose/physics/quantity"
)

// Paper is the outlook in three lines, for those who work on the system.
func (o *Outlook) Paper() []string {
	w, y := words(), &o.Year
	list := []string{o.spareLine()}
	if night := o.NightLine(); night != "" {
		list = append(list, fmt.Sprintf(w.Paper.Tonight, night))
	}
	if off := o.OffText(); off != "" {
		list = append(list, off)
	}
	switch {
	case y.NeedWh == 0:
	case y.dark():
		list = append(list, fmt.Sprintf(w.Paper.YearDark, y.NeedWh))
	default:
		m, bad := &y.Months[o.At.Month()-1], &y.Months[y.Worst-1]
		list = append(list, fmt.Sprintf(w.Paper.Year, y.NeedWh, m.YieldWh.P50, bad.YieldWh.P50, MonthText(y.Worst), quantity.Percent(bad.Cut)))
	}
	return list
}

// Sheet is the outlook in two or three lines, for those who live with the system.
func (o *Outlook) Sheet() []string {
	w := &words().Paper
	var list []string
	if night := o.NightLine(); night != "" {
		list = append(list, fmt.Sprintf(w.Tonight, night))
	}
	if off := o.OffText(); off != "" {
		list = append(list, off)
	}
	if len(o.Day.Loads) > 0 {
		list = append(list, o.heavyLine())
	}
	return list
}

// heavyLine says in which hours the array carries all loads: those of the load that matters
// least, since it comes behind all others.
func (o *Outlook) heavyLine() string {
	w := &words().Paper
	all := LoadDay{}
	for h := range all.Hours {
		all.Hours[h] = NotToday
		if !slices.ContainsFunc(o.Day.Loads, func(l LoadDay) bool { return l.Hours[h] != FromArray }) {
			all.Hours[h] = FromArray
		}
	}
	if spans := o.spans(&all, FromArray); spans != "" {
		return fmt.Sprintf(w.Heavy, spans)
	}
	return w.HeavyNone
}

// spareLine is what there is to spare now, or else what the battery loses.
func (o *Outlook) spareLine() string {
	list := o.spareText()
	if o.Now.Day >= 0.5 && o.Now.SpareW.P50 >= 0.5 {
		return list[0]
	}
	return list[len(list)-1]
}
