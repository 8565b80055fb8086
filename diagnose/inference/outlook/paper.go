package outlook

import (
	"fmt"
	"slices"
	"strings"
)

// Paper is the outlook in few lines, for those who work on the system.
func (o *Outlook) Paper() []string {
	w := words()
	list := []string{o.spareLine()}
	if night := o.NightLine(); night != "" {
		list = append(list, fmt.Sprintf(w.Paper.Tonight, night)+" "+o.sunText())
	}
	ahead := o.AheadText()
	list = append(list, ahead[0])
	if len(ahead) > 4 {
		list = append(list, ahead[3])
	}
	if part, _ := o.Year.Missed(); part > 0 && len(o.Helps) > 0 {
		list = append(list, fmt.Sprintf(w.Paper.Help, o.Helps[0].words()))
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

// spareLine is what there is to spare now and what the battery gains or loses.
func (o *Outlook) spareLine() string {
	list := o.spareText()
	if o.Now.Day < 0.5 {
		list = append([]string{words().Now.Dark}, list...)
	}
	return strings.Join(list, " ")
}
