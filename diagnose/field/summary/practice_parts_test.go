package summary

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/document"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// partsSite is the demo site with two battery strings of two blocks, an inverter on the
// battery, a mains charger that is off, and minus earthed.
func partsSite() *site.Site {
	s := *site.Demo()
	s.Battery.Strings, s.Battery.Blocks, s.Battery.CellsPerBlock = 2, 2, 3
	s.Earthing = site.PoleMinus
	s.Inverter = &site.Inverter{RatedW: 300, IdleW: 6, Efficiency: 0.88, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, FuseA: 40, CableM: 1, CableMM2: 16,
		Lamps: []site.Lamp{{Label: "front light", Looks: []site.Look{
			{Look: "green", Means: []site.Meaning{site.InverterOn}}, {Look: "red", Means: []site.Meaning{site.InverterLow}}, {Look: "out", Means: []site.Meaning{site.InverterOff}},
		}}}}
	s.Charger = &site.Charger{RatedA: 10, AbsorbV: 14.4, FloatV: 13.6}
	s.Loads = append([]site.Load{}, s.Loads...)
	s.Loads = append(s.Loads, site.Load{Label: "centrifuge", PowerW: 150, From: site.FromInverter})
	return &s
}

// oneString is that site with one string.
func oneString() *site.Site {
	s := partsSite()
	s.Battery.Strings = 1
	return s
}

// noPole is that site with no pole earthed.
func noPole() *site.Site {
	s := partsSite()
	s.Earthing = site.PoleNone
	return s
}

// What a technician reads of the parts from a few figures; all of it common practice.
func TestCommonPracticeOfParts(t *testing.T) {
	sun := w{reading.Sky: "clear", reading.Shade: "none", reading.Glass: "clean", reading.ChargerOn: "false"}
	night := w{reading.Sky: "dark", reading.ChargerOn: "false"}
	with := func(base w, more w) w {
		all := w{}
		for _, part := range []w{base, more} {
			for k, v := range part {
				all[k] = v
			}
		}
		return all
	}
	lamps := []string{"ward lamps"}
	tests := []struct {
		name    string
		site    *site.Site
		found   found
		several map[reading.Key][]string
		lists   map[reading.Key][]float64
		leader  condition.ID
	}{
		{"sun, nothing at the controller and almost nothing at the plug: the cable is shorted", partsSite(),
			found{sun, n{reading.Irradiance: 850, reading.ArrayV: 0.01, reading.ArrayA: 0, reading.ModuleV: 0.4, reading.BatteryV: 12.4}, nil}, nil, nil, condition.ArrayShort},
		{"10.6 V and the lamps still burn", partsSite(),
			found{night, n{reading.BatteryV: 10.6, reading.PostV: 10.65, reading.LoadV: 10.58, reading.LoadA: 1.7}, lamps}, nil, nil, condition.CutOffFails},
		{"both blocks rest alike, one sags by a volt", oneString(),
			found{night, n{reading.Minutes: 60, reading.RestV: 12.5, reading.StepA: 10, reading.StepPostV: 11.1}, []string{}}, nil,
			map[reading.Key][]float64{reading.BlockV: {6.25, 6.23}, reading.StepBlockV: {6.05, 5.05}}, condition.BlockWeak},
		{"one string carries all, the other nothing", partsSite(),
			found{night, n{reading.BatteryA: -15.2, reading.InverterA: 15.1, reading.PostV: 11.7}, []string{"centrifuge"}}, nil, map[reading.Key][]float64{reading.StringA: {0.01, -15.2}}, condition.BatteryStringOpen},
		{"plates bare, and what acid is left is too dense for the voltage", oneString(),
			found{night, n{reading.Minutes: 60, reading.RestV: 12.6}, []string{}}, map[reading.Key][]string{reading.Seen: {"plates-bare", "acid-low"}, reading.Complaint: {"lamps-short"}},
			map[reading.Key][]float64{reading.Gravity: {1.305, 1.3, 1.31, 1.305, 1.305, 1.31}}, condition.ElectrolyteLow},
		{"one lamp is dark, its supply is there, the others burn", partsSite(),
			found{night, n{reading.LoadV: 12.5, reading.LoadA: 0.02, reading.LoadEndV: 12.5}, lamps}, map[reading.Key][]string{reading.NotWorking: {"ward lamps"}}, nil, condition.ApplianceFault},
		{"inverter on, 13 V at its terminals, no current", partsSite(),
			found{with(sun, w{reading.InverterLamp("front light"): "out"}), n{reading.InverterV: 12.95, reading.InverterA: 0.01, reading.PostV: 12.95, reading.BatteryA: 4.6, reading.ArrayA: 4.65, reading.Irradiance: 800}, []string{"centrifuge"}}, map[reading.Key][]string{reading.NotWorking: {"centrifuge"}}, nil, condition.InverterOff},
		{"12.3 V at the posts, 11.2 V at the inverter under load", partsSite(),
			found{night, n{reading.InverterV: 11.2, reading.InverterA: 15.5, reading.PostV: 12.3}, []string{"centrifuge"}}, nil, nil, condition.InverterStarved},
		{"no pole earthed, yet plus stands steady at 0 V to earth", noPole(),
			found{night, n{reading.PlusEarthV: 0.02, reading.MinusEarthV: -12.4, reading.PostV: 12.42}, []string{}}, nil, nil, condition.EarthFault},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if testing.Short() {
				t.Skip("an inference")
			}
			set := reading.NewSet()
			set.LoadsOn = tt.found.on
			for k, v := range tt.found.words {
				set.Words[k] = v
			}
			for k, v := range tt.found.numbers {
				set.Numbers[k] = v
			}
			for k, v := range tt.lists {
				set.Lists[k] = v
			}
			for k, v := range tt.several {
				set.Several[k] = v
			}
			r, err := belief.Infer(belief.Input{Site: tt.site, Readings: set})
			require.NoError(t, err)
			assert.Equal(t, tt.leader, r.Leader().ID, "%v, %.2f", r.Conditions[:4], r.Of(tt.leader))
		})
	}
}

// The drawing of a paper has every part, within its frame, with what was read there.
func TestPartsAreDrawn(t *testing.T) {
	text := append([]byte{}, site.DemoTOML()...)
	text = append(text, []byte("\n[inverter]\nrated_w = 300\nidle_w = 6\nefficiency = 0.88\ncut_v = 10.5\nrestore_v = 12.5\nfrom = \"battery\"\ncable_m = 1\ncable_mm2 = 16\n[charger]\nrated_a = 10\nabsorb_v = 14.4\nfloat_v = 13.6\n[earthing]\npole = \"minus\"\n")...)
	v, err := visiting.New(visiting.Head{ID: "x", SiteTOML: string(text), StartedAt: start}, nowhere{})
	require.NoError(t, err)
	for step, typed := range map[string]string{"inverter_a": "12.5", "inverter_v": "12.1", "charger_a": "3.2", "plus_earth_v": "12.6"} {
		s, ok := v.Procedure().Step(step)
		require.True(t, ok, step)
		spec, _ := reading.SpecOf(s.Reading)
		a, err := v.ReadAnyway(visiting.Prompt{Step: s, Spec: spec}, typed)
		require.NoError(t, err)
		a.At = start
		require.NoError(t, v.Give(a))
	}
	p := factsOf(v).wiring().(document.Picture)
	var said []string
	for _, shape := range p.Drawing.Shapes {
		if l, ok := shape.(document.Label); ok {
			said = append(said, l.Text)
			assert.LessOrEqual(t, l.At.X, p.Drawing.W, l.Text)
			assert.LessOrEqual(t, l.At.Y, p.Drawing.H, l.Text)
		}
	}
	for _, want := range []string{"Inverter", "300 W, at the battery", "12.50 A", "12.10 V", "Mains charger", "3.20 A", "Earth", "minus joined to it", "+ 12.60 V"} {
		assert.Contains(t, said, want)
	}
	assert.Contains(t, p.Words, "Inverter: Voltage at the inverter's DC terminals 12.10 V; Current into the inverter 12.50 A.")
}
