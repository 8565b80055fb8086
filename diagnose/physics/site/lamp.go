package site

import (
	"slices"

	"ampwalk/diagnose/base/tomlfile"
)

// ofController is what a look of a controller's lamp may mean.
var ofController = []string{
	string(ArrayLive), string(ArrayDead),
	string(Charging), string(NotCharging),
	string(Regulating), string(NotRegulating),
	string(BatteryAbove), string(BatteryBelow), string(BatteryBetween),
	string(LoadsLive), string(LoadsCut),
	string(Fault), string(Powered), string(Unpowered),
}

// ofInverter is what one of an inverter's may mean.
var ofInverter = []string{
	string(InverterOn), string(InverterOff), string(InverterLow), string(InverterOverload),
	string(Fault), string(Powered), string(Unpowered),
}

// opposites cannot both be meant by one look.
var opposites = [][2]Meaning{
	{ArrayLive, ArrayDead},
	{Charging, NotCharging},
	{Regulating, NotRegulating},
	{BatteryAbove, BatteryBelow}, // one look has one "volts"
	{BatteryAbove, BatteryBetween},
	{BatteryBelow, BatteryBetween},
	{LoadsLive, LoadsCut},
	{Powered, Unpowered},
	{InverterOn, InverterOff},
}

func lamps(ts []*tomlfile.Table, vocabulary []string, volts tomlfile.Range) []Lamp {
	var all []Lamp
	labels := distinct{}
	for _, t := range ts {
		l := Lamp{Label: labels.text(t, "label"), Looks: looks(t.Tables("look"), vocabulary, volts)}
		if len(l.Looks) == 0 && !t.Has("look") {
			t.ReportMissing("look", "%s", words().NoLook)
		}
		all = append(all, l)
	}
	return all
}

func looks(ts []*tomlfile.Table, vocabulary []string, volts tomlfile.Range) []Look {
	var all []Look
	names := distinct{}
	for _, t := range ts {
		l := Look{Look: names.text(t, "look")}
		for _, word := range t.Words("means", vocabulary...) {
			l.Means = append(l.Means, Meaning(word))
		}
		l.Volts = t.NumberOr("volts", volts, 0)
		l.VoltsTo = t.NumberOr("volts_to", volts, 0)
		if t.Sound("means") {
			l.check(t)
		}
		all = append(all, l)
	}
	return all
}

// check finds meanings that do not go together, and volts that are missing or
// mean nothing.
func (l Look) check(t *tomlfile.Table) {
	for _, o := range opposites {
		if slices.Contains(l.Means, o[0]) && slices.Contains(l.Means, o[1]) {
			t.Report("means", words().Opposites, o[0], o[1])
		}
	}
	between := slices.Contains(l.Means, BatteryBetween)
	volts := between || slices.Contains(l.Means, BatteryAbove) || slices.Contains(l.Means, BatteryBelow)
	expect := func(name string, needed bool, meaning string) {
		switch given := t.Has(name); {
		case needed && !given:
			t.ReportMissing(name, words().NoVolts, meaning)
		case given && !needed:
			t.Report(name, words().NeedlessVolts, meaning)
		}
	}
	expect("volts", volts, words().VoltsWith)
	expect("volts_to", between, "battery-between")
	if between && t.Sound("volts", "volts_to") && l.VoltsTo <= l.Volts {
		t.Report("volts_to", words().VoltsTo, l.VoltsTo, l.Volts)
	}
}

// distinct reads texts that must differ from each other.
type distinct map[string]bool

func (d distinct) text(t *tomlfile.Table, name string) string {
	s := t.Name(name)
	if t.Sound(name) && d[s] {
		t.Report(name, words().Twice, s, name)
	}
	d[s] = true
	return s
}
