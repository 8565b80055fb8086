package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"ampwalk/diagnose/base/effort"
	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/quantity"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A situation is how a person finds a site, and what a visit should say of it.
type situation struct {
	name  string
	hour  float64 // by the sun
	sky   string
	fault condition.ID
	at    func(u *plant.Unknowns) // the moment
	says  []string                // in the summary
}

// The visits that a newcomer meets first. What each should say is common practice.
var situations = []situation{
	{"sound, in sun", 12.2, "clear", condition.Sound, func(u *plant.Unknowns) { u.SoC = 0.5 }, []string{
		"There is light on the array", "Current from the array reaches the battery side",
		"The controller holds back nothing",
	}},
	{"disconnected in daylight", 12.2, "clear", condition.ArrayOpen, func(u *plant.Unknowns) { u.SoC = 0.5 }, []string{
		"There is light on the array", "No current from the array reaches the battery side",
		"Something does not work as designed", "close what is open",
	}},
	{"held back, nearly full", 12.2, "clear", condition.Sound, func(u *plant.Unknowns) { u.SoC, u.FloatStage, u.LoadW = 0.99, true, 0 }, []string{
		"The controller holds back part of the array's power", "could give about",
	}},
	{"night", 22.2, "dark", condition.Sound, func(u *plant.Unknowns) {
		u.SoC, u.Irradiance, u.IrradianceIsolated, u.CellC, u.CellCIsolated = 0.6, 0, 0, u.AirC, u.AirC
	}, []string{
		"It is dark on the array", "No current from the array reaches the battery side",
	}},
	{"blown load fuse", 12.2, "clear", condition.LoadOpen, func(u *plant.Unknowns) { u.SoC = 0.5 }, []string{
		"There is light on the array", "Current from the array reaches the battery side",
		"Something does not work as designed", "fuse",
	}},
}

// met are the situations that are played: all with AMPWALK_CI, else a healthy site and a
// fault, since whole visits take a while.
func met() []situation {
	return situations[:effort.Of(2, 2, len(situations))]
}

// A person answers each step with what the meters and lamps of a plant show.
type person struct {
	situation
	site  *site.Site
	steps []procedure.Step
	loads string
	out   plant.Out
	runW  float64 // of what is on in the evening at a closed kit [W]
}

func (sit situation) person() *person {
	p := &person{situation: sit, site: site.Demo(), loads: "all"}
	p.steps = procedure.For(p.site).Steps
	u := plant.Typical()
	u.LoadW = p.site.AllListedW()
	sit.at(&u)
	condition.Disturb(sit.fault, p.site, &u, 0.5, 0.5, len(condition.Options(sit.fault, p.site))-1)
	plant.New(p.site, restMinutes).Solve(&u, &p.out)
	if u.LoadW == 0 {
		p.loads = "none"
	}
	return p
}

const restMinutes = 45

// begin is the moment of the situation today.
func (sit situation) begin() time.Time {
	noon := time.Date(2026, 11, 20, 12, 0, 0, 0, time.FixedZone("", 2*3600))
	return noon.Add(time.Duration((sit.hour - 12) * float64(time.Hour)))
}

// answer is what the person types for the step in the line mode.
func (p *person) answer(s procedure.Step) string {
	_, _, finds := s.Reading.Node()
	switch k := s.Reading; {
	case finds:
		return p.between(k)
	case s.ID == "not-working" && p.out.Value[plant.LoadEndV] < 1:
		return p.loads
	case s.Kind != procedure.Take:
		return goodWord(s, p.loads)
	case k == reading.Sky:
		return p.sky
	case k == reading.Minutes:
		return fmt.Sprint(restMinutes)
	default:
		if label, ok := k.LampLabel(); ok {
			return p.lamp(label)
		}
		if label, ok := k.InverterLabel(); ok {
			l, _ := p.site.InverterLamp(label)
			return p.looks(l)
		}
		if len(s.Choices) > 0 {
			return s.Choices[0].ID // no shadow, clean glass
		}
		return p.number(k)
	}
}

// number is what the instrument shows: the plant's value to its last place.
func (p *person) number(k reading.Key) string {
	v := p.out.Value
	spec, _ := reading.SpecOf(k)
	switch k {
	case reading.BlockV:
		return quantity.Format(v[plant.RestV], spec.Unit)
	case reading.Gravity:
		cells := slices.Repeat([]float64{v[plant.GravityRest]}, p.site.Battery.Cells())
		cells[0] = v[plant.GravityLow]
		var list []string
		for _, x := range cells {
			list = append(list, quantity.Format(x, spec.Unit))
		}
		return strings.Join(list, " ")
	case reading.RunW:
		return quantity.Format(p.runW, spec.Unit)
	}
	if spec.Form == reading.List { // the odd one first
		low, rest := plant.ListOf(k)
		n, _ := reading.ListLen(k, p.site)
		list := []string{quantity.Format(v[low], spec.Unit)}
		for range n - 1 {
			list = append(list, quantity.Format(v[rest], spec.Unit))
		}
		return strings.Join(list, " ")
	}
	i, _ := plant.IndexOf(k)
	return quantity.Format(spec.Shown(v[i]), spec.Unit)
}

// between is what shows between two parts: as if the switch of the array, or the fuse
// of the battery or of the loads, were the part at fault.
func (p *person) between(k reading.Key) string {
	before := map[string][]string{
		"array": {"module", "array-side"}, "battery": {"post", "battery-lug", "battery-fuse-in"}, "load": {"load", "post", "load-fuse-in", "load-switch-in"},
	}
	ends := map[string][2]reading.Key{
		"array": {reading.ModuleV, reading.ArrayV}, "battery": {reading.PostV, reading.BatteryV}, "load": {reading.LoadV, reading.LoadEndV},
	}
	circuit, node, _ := k.Node()
	end := ends[circuit][1]
	if slices.Contains(before[circuit], node) {
		end = ends[circuit][0]
	}
	return p.number(end)
}

// lamp is how a lamp looks: the look whose meaning holds, as the site file has it.
func (p *person) lamp(label string) string {
	l, _ := p.site.Lamp(label)
	return p.looks(l)
}

// looks is the look of a lamp whose meaning holds.
func (p *person) looks(l site.Lamp) string {
	for _, look := range l.Looks {
		if p.holds(look) {
			return look.Look
		}
	}
	return ""
}

// holds reports whether all that a look of a lamp means is so.
func (p *person) holds(look site.Look) bool {
	o := &p.out
	so := map[site.Meaning]bool{
		site.ArrayLive: o.ArrayLive, site.ArrayDead: !o.ArrayLive,
		site.LoadsLive: o.LoadsLive, site.LoadsCut: !o.LoadsLive,
		site.BatteryAbove: o.BusV > look.Volts, site.BatteryBelow: o.BusV < look.Volts,
		site.BatteryBetween: o.BusV >= look.Volts && o.BusV <= look.VoltsTo,
		site.Unpowered:      !o.Powered,
		site.Charging:       o.Charging, site.NotCharging: !o.Charging,
		site.InverterOn: o.InverterRuns, site.InverterOff: !o.InverterRuns, site.InverterLow: o.InverterLow,
	}
	return !slices.ContainsFunc(look.Means, func(m site.Meaning) bool { return !so[m] })
}
