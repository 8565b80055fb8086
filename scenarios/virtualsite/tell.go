package virtualsite

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/physics/reading"
)

// A damage is how one that is seen is told, and where.
type damage struct {
	Place Place
	Text  string
}

// Ask asks the people of the site whether loads may go off, what they complain of and what
// changed lately.
func (b *Bench) Ask() (lines []string, told []Display) {
	b.Prepare(ReadyPeople)
	t := texts()
	for _, k := range []reading.Key{reading.Complaint, reading.Changed} {
		d := b.several(k, b.setup.Signs[k])
		words := t.Complaint
		if k == reading.Changed {
			words = t.Changed
		}
		for _, id := range b.setup.Signs[k] {
			lines = append(lines, words[id])
		}
		told = append(told, d)
	}
	if run := b.told(); run != nil {
		lines = append(lines, fmt.Sprintf(t.Ran, run[0].Text, run[1].Text))
		told = append(told, run...)
	}
	w, _ := b.Sees(reading.Visit)
	return lines, append(told, Display{Text: w, Word: w, Shown: true, Reading: reading.Visit})
}

// Signs are the ids of a list of what is seen or told.
func (b *Bench) Signs(list reading.Key) []string { return slices.Clone(b.setup.Signs[list]) }

// several is a reading that is a list of ids or labels.
func (b *Bench) several(k reading.Key, ids []string) Display {
	return Display{Text: orElse(strings.Join(ids, ", "), reading.None), Several: append([]string{}, ids...), Shown: true, Reading: k}
}

// damagesAt are the kinds of damage that one looks for at a place.
func damagesAt(p Place) []string {
	return slices.DeleteFunc(slices.Clone(reading.Damages), func(id string) bool { return texts().Seen[id].Place != p })
}

// lookCloser adds to a look what is seen there of damage, and what displays beside the
// controller's show.
func (b *Bench) lookCloser(p Place) (lines []string, looks []Display) {
	t := texts()
	var seen []string
	for _, id := range b.setup.Signs[reading.Seen] {
		if t.Seen[id].Place == p {
			seen = append(seen, id)
			lines = append(lines, t.Seen[id].Text)
		}
	}
	d := b.several(reading.Seen, seen)
	d.Looked = damagesAt(p)
	looks = append(looks, d)
	switch p {
	case AtController:
		if d, line, ok := b.lock(); ok && b.asFound() {
			lines, looks = append(lines, line), append(looks, d)
		}
	case AtBattery:
		l, d := b.lookAtParts()
		lines, looks = append(lines, l...), append(looks, d...)
	case AtLoads:
		if !b.asFound() || len(b.setup.Site.Loads) == 0 {
			break
		}
		dead := b.notWorking()
		looks = append(looks, b.several(reading.NotWorking, dead))
		if len(dead) > 0 {
			lines = append(lines, fmt.Sprintf(t.Loads.Dead, strings.Join(dead, ", ")))
		}
	}
	return lines, looks
}

// lookAtParts looks at the inverter, the charger and the pack's display, which stand by the
// battery.
func (b *Bench) lookAtParts() (lines []string, looks []Display) {
	t, s := texts(), b.setup.Site
	yes := func(k reading.Key, is bool, text string) {
		if b.asFound() {
			looks = append(looks, Display{Text: text, Word: strconv.FormatBool(is), Shown: true, Reading: k})
		}
		lines = append(lines, text)
	}
	if s.Inverter != nil {
		for i := range s.Inverter.Lamps {
			k := reading.InverterLamp(s.Inverter.Lamps[i].Label)
			w, _ := b.Sees(k)
			lines = append(lines, fmt.Sprintf(t.InverterLamp, s.Inverter.Lamps[i].Label, w))
			if b.asFound() {
				looks = append(looks, Display{Text: w, Word: w, Shown: true, Reading: k})
			}
		}
	}
	if s.Charger != nil {
		text := t.ChargerOff
		if b.u.ChargerOn {
			text = t.ChargerOn
		}
		yes(reading.ChargerOn, b.u.ChargerOn, text)
	}
	percent, alarm, shows := b.pack()
	if shows {
		lines, looks = append(lines, fmt.Sprintf(t.Pack, percent.Text)), append(looks, percent)
	}
	if percent.Shown {
		text := t.NoAlarm
		if alarm {
			text = t.Alarm
		}
		yes(reading.PackAlarm, alarm, text)
	}
	return lines, looks
}
