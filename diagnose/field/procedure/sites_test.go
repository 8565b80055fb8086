package procedure

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/site"
)

// Sites of the tests, nameplates invented.

func module36() site.Module {
	return site.Module{PmpW: 50, VmpV: 18, ImpA: 2.78, VocV: 22.1, IscA: 2.97, Cells: 36, Bypass: 2,
		IscPctPerC: 0.05, VocPctPerC: -0.32, NOCTC: 46}
}

func lamps() []site.Lamp {
	return []site.Lamp{
		{Label: "array lamp", Looks: []site.Look{{Look: "lit"}, {Look: "out"}}},
		{Label: "battery lamp", Looks: []site.Look{{Look: "steady"}, {Look: "out"}}},
	}
}

func loads() []site.Load {
	return []site.Load{{Label: "ward lamps", PowerW: 18}, {Label: "phone charging", PowerW: 10}}
}

// flooded12 has every kind of step but block voltages.
func flooded12() *site.Site {
	return &site.Site{
		Name: "flooded12", NominalV: 12,
		Array:      site.Array{Series: 1, Strings: 2, FuseA: 10, Module: module36()},
		Controller: site.Controller{Kind: site.Series, AbsorbV: 14.4, FloatV: 13.7, CompMVPerCCell: -4, LoadOutput: true, Lamps: lamps()},
		Battery:    site.Battery{Chemistry: site.Flooded, CapacityAh: 80, Blocks: 1, CellsPerBlock: 6, FuseA: 20},
		Loads:      loads(),
	}
}

// mppt24 has no load output, two sealed blocks, and too much current to short.
func mppt24() *site.Site {
	s := flooded12()
	s.Name, s.NominalV = "mppt24", 24
	s.Array.Series, s.Array.Strings, s.Array.Module.IscA = 2, 2, 8.8
	s.Controller = site.Controller{Kind: site.MPPT, AbsorbV: 28.8, FloatV: 27.4, CompMVPerCCell: -4}
	s.Battery = site.Battery{Chemistry: site.AGM, CapacityAh: 150, Blocks: 2, CellsPerBlock: 6}
	return s
}

// lfp12 has no listed load and no lamp.
func lfp12() *site.Site {
	s := flooded12()
	s.Name = "lfp12"
	s.Controller.Lamps, s.Controller.CompMVPerCCell = nil, 0
	s.Battery = site.Battery{Chemistry: site.LFP, CapacityAh: 100, Blocks: 1, CellsPerBlock: 4}
	s.Loads, s.Array.Strings = nil, 1
	return s
}

// highArray is an mppt site whose array is above 60 V: 2 x 38 V.
func highArray() *site.Site {
	s := mppt24()
	s.Name, s.Array.Module.VocV = "highArray", 38
	return s
}

// highShunt is a shunt site whose array is above 60 V: 3 x 22 V.
func highShunt() *site.Site {
	s := flooded12()
	s.Name, s.NominalV, s.Array.Series = "highShunt", 48, 3
	s.Controller.Kind, s.Controller.AbsorbV, s.Controller.FloatV = site.Shunt, 57.6, 54.8
	s.Battery.Blocks = 4
	return s
}

// lookOnly has an array above 120 V: 6 x 22 V.
func lookOnly() *site.Site {
	s := mppt24()
	s.Name, s.Array.Series = "lookOnly", 6
	return s
}

// shuntGel12 has a shunt controller, a gel battery and no fuse.
func shuntGel12() *site.Site {
	s := flooded12()
	s.Name, s.Array.FuseA, s.Battery.FuseA = "shuntGel12", 0, 0
	s.Controller.Kind, s.Controller.Lamps = site.Shunt, lamps()[:1]
	s.Battery.Chemistry = site.Gel
	return s
}

// mpptFlooded24 has a load output, two open blocks, and no listed load.
func mpptFlooded24() *site.Site {
	s := mppt24()
	s.Name, s.Controller.LoadOutput, s.Controller.Lamps = "mpptFlooded24", true, nil
	s.Battery.Chemistry, s.Loads = site.Flooded, nil
	return s
}

// parts12 has an inverter and a mains charger, two battery strings, an earthed pole, and a
// load past the controller.
func parts12() *site.Site {
	s := flooded12()
	s.Name, s.Earthing, s.Battery.Strings = "parts12", site.PoleMinus, 2
	s.Loads = append(s.Loads, site.Load{Label: "vaccine alarm", PowerW: 4, From: site.FromBattery}, site.Load{Label: "laptop", PowerW: 60, From: site.FromInverter})
	s.Inverter = &site.Inverter{RatedW: 300, IdleW: 6, Efficiency: 0.88, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, FuseA: 40, CableM: 1, CableMM2: 16, Lamps: lamps()[:1]}
	s.Charger = &site.Charger{RatedA: 20, AbsorbV: 14.4, FloatV: 13.6}
	return s
}

// kit12 is a closed kit with its own panel, and a lock.
func kit12() *site.Site {
	s := flooded12()
	s.Name, s.Kit = "kit12", &site.Kit{USB: 2, Locks: true}
	s.Array = site.Array{Series: 1, Strings: 1, Module: module36()}
	s.Battery = site.Battery{Chemistry: site.LFP, CapacityAh: 12, Blocks: 1, CellsPerBlock: 4}
	s.Controller.CompMVPerCCell = 0
	return s
}

func allSites() []*site.Site {
	return []*site.Site{kit12(), parts12(), flooded12(), mppt24(), lfp12(), shuntGel12(), mpptFlooded24(), highArray(), highShunt(), lookOnly()}
}

// The sites of the walk have between them every kind of controller, every
// chemistry, and every option that steps depend on, with and without.
func TestSitesCoverEverything(t *testing.T) {
	has := map[any]bool{}
	for _, s := range allSites() {
		has[s.Controller.Kind], has[s.Battery.Chemistry] = true, true
		for name, f := range siteHas {
			has[fmt.Sprint(name, f(s))] = true
		}
		has[fmt.Sprint("lamps", len(s.Controller.Lamps) > 0)] = true
		has[fmt.Sprint("fuse", s.Battery.FuseA > 0)] = true
	}
	for _, k := range []site.Kind{site.Series, site.Shunt, site.MPPT} {
		assert.True(t, has[k], k)
	}
	for _, c := range []site.Chemistry{site.Flooded, site.AGM, site.Gel, site.LFP} {
		assert.True(t, has[c], c)
	}
	names := []string{"lamps", "fuse"}
	for name := range siteHas {
		names = append(names, name)
	}
	for _, name := range names {
		assert.True(t, has[name+"true"] && has[name+"false"], name)
	}
}
