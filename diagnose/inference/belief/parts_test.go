package belief

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// found24 has every part that a site file can describe.
func found24() *site.Site {
	s := *site.Demo()
	s.NominalV = 24
	s.Array.Series, s.Array.Strings = 2, 3
	s.Controller.RatedA, s.Controller.AbsorbV, s.Controller.FloatV, s.Controller.CutV, s.Controller.RestoreV = 20, 28.8, 27.4, 22.8, 25.2
	s.Controller.Lamps = nil
	s.Battery.Blocks, s.Battery.Strings, s.Battery.CapacityAh = 2, 2, 200
	s.Loads = append(s.Loads,
		site.Load{Label: "alarm", PowerW: 6, HoursPerDay: 24, Priority: 1, From: site.FromBattery},
		site.Load{Label: "printer", PowerW: 90, HoursPerDay: 2, Priority: 4, From: site.FromInverter})
	s.Inverter = &site.Inverter{RatedW: 300, IdleW: 6, Efficiency: 0.88, CutV: 21, RestoreV: 25, From: site.FromBattery, FuseA: 30, CableM: 1, CableMM2: 16}
	s.Charger = &site.Charger{RatedA: 15, AbsorbV: 28.8, FloatV: 27.2}
	s.Earthing = site.PoleNone
	return &s
}

// taken are the readings of a plant of the site with everything on, as exact as they are shown.
func taken(s *site.Site, id condition.ID, option int, change func(u *plant.Unknowns)) *reading.Set {
	u := plant.Typical()
	u.LoadShape, u.BatteryC, u.CellC, u.Earthed, u.StepA = 0.3, 27, 52, s.Earthing, 8
	if u.Earthed == site.PoleUnknown {
		u.Earthed = site.PoleMinus
	}
	condition.Disturb(id, s, &u, 0.5, 0.5, option)
	u.SetLoads(s, func(i int) float64 { return s.Loads[i].PowerW })
	if change != nil {
		change(&u)
	}
	var out plant.Out
	plant.New(s, 60).Solve(&u, &out)
	set := reading.NewSet()
	set.TakenAt = time.Date(2026, 11, 20, 11, 0, 0, 0, time.FixedZone("", 7200))
	set.LoadsOn = []string{}
	for _, l := range s.Loads {
		set.LoadsOn = append(set.LoadsOn, l.Label)
	}
	round := func(x float64) float64 { return math.Round(100*x) / 100 }
	for _, spec := range reading.Specs {
		if !reading.Offered(spec.Key, s) {
			continue
		}
		if i, ok := plant.IndexOf(spec.Key); ok && !out.Floats[i] {
			set.Numbers[spec.Key] = round(out.Value[i])
		}
		if spec.Form == reading.List {
			low, rest := plant.ListOf(spec.Key)
			n, _ := reading.ListLen(spec.Key, s)
			if spec.Key == reading.Gravity {
				set.Lists[spec.Key] = append(set.Lists[spec.Key], math.Round(1000*out.Value[low])/1000)
			} else {
				set.Lists[spec.Key] = append(set.Lists[spec.Key], round(out.Value[low]))
			}
			for range n - 1 {
				set.Lists[spec.Key] = append(set.Lists[spec.Key], math.Round(1000*out.Value[rest])/1000)
			}
		}
	}
	set.Numbers[reading.Minutes] = 60
	set.Words[reading.ChargerOn] = fmt.Sprint(u.ChargerOn)
	var dead []string
	if k := u.Fault.DeadLoad; k > 0 {
		dead = append(dead, s.Loads[k-1].Label)
	}
	for _, l := range s.LoadsFrom(site.FromInverter) {
		if !out.InverterRuns {
			dead = append(dead, l.Label)
		}
	}
	set.Several[reading.NotWorking] = dead
	return set
}

// Each condition of the parts leads where it acts, and a healthy plant with all of them is
// believed healthy: also at night, with the charger on, and with its battery low.
func TestConditionsOfThePartsLead(t *testing.T) {
	night := func(u *plant.Unknowns) { u.Irradiance, u.IrradianceIsolated, u.CellC, u.CellCIsolated = 0, 0, 22, 22 }
	seen := func(ids ...string) func(*reading.Set) {
		return func(s *reading.Set) { s.Several[reading.Seen] = ids }
	}
	for _, tt := range []struct {
		name   string
		id     condition.ID
		option int
		change func(*plant.Unknowns)
		also   func(*reading.Set)
		least  float64
	}{
		{"sun", condition.Sound, 0, nil, nil, 0.8},
		{"night", condition.Sound, 0, night, nil, 0.5},
		{"charger", condition.Sound, 0, func(u *plant.Unknowns) { u.ChargerOn = true }, nil, 0.75},
		{"at night on the charger", condition.Sound, 0, func(u *plant.Unknowns) { night(u); u.ChargerOn = true }, nil, 0.5},
		{"inverter left on", condition.Sound, 0, func(u *plant.Unknowns) { u.InverterLeftOn = true }, nil, 0.7},
		{"shorted cable", condition.ArrayShort, 0, nil, nil, 0.6},
		{"cut-off fails", condition.CutOffFails, 0, func(u *plant.Unknowns) { night(u); u.SoC, u.RestMix = 0, 1 }, nil, 0.6},
		{"weak block", condition.BlockWeak, 0, nil, nil, 0.6},
		{"string open", condition.BatteryStringOpen, 0, nil, nil, 0.8},
		{"acid low", condition.ElectrolyteLow, 0, nil, seen("acid-low", "plates-bare"), 0.4},
		{"dead lamp", condition.ApplianceFault, 0, nil, nil, 0.6},
		{"dead printer", condition.ApplianceFault, len(found24().Loads) - 1, nil, nil, 0.6},
		{"inverter dead", condition.InverterOff, 0, nil, nil, 0.6},
		{"inverter starved", condition.InverterStarved, 0, nil, nil, 0.6},
		{"earth fault", condition.EarthFault, 0, nil, nil, 0.8},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := found24()
			set := taken(s, tt.id, tt.option, tt.change)
			if tt.also != nil {
				tt.also(set)
			}
			r, err := Infer(Input{Site: s, Readings: set})
			assert.NoError(t, err)
			assert.Equal(t, tt.id, r.Leader().ID, "%v", r.Conditions[:4])
			assert.GreaterOrEqual(t, r.Of(tt.id), tt.least, "%v", r.Conditions[:4])
			for _, x := range r.Suspects {
				assert.Less(t, x.P, 0.3, x.Reading)
			}
		})
	}
}
