package visiting_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/physics/site"
)

// The demonstration's nameplate is met; its 80 Ah of six vented cells need
// 0.05·6·20·80/1000 = 0.48 m³/h and 28 times that in cm² (EN 50272-2).
func TestRemarks(t *testing.T) {
	s := site.Demo()
	said := visiting.Remarks(s)
	require.Len(t, said, 1)
	assert.Contains(t, said[0], "0.48 m3")
	assert.Contains(t, said[0], "13 cm2")

	s.Battery.Chemistry = site.LFP
	assert.Empty(t, visiting.Remarks(s))

	s.Battery.Chemistry, s.Place.LatitudeDeg = site.Flooded, 47
	assert.Contains(t, strings.Join(visiting.Remarks(s), "\n"), "frost")
}

// A nameplate sharper than any diode, with a Voc that hardly heeds the warmth,
// is not refused but said.
func TestRemarksSayMisfit(t *testing.T) {
	s := site.Demo()
	m := &s.Array.Module
	m.VocV, m.IscA, m.VmpV, m.ImpA, m.VocPctPerC = 22, 5, 19.8, 4.93, -0.15
	m.PmpW = m.VmpV * m.ImpA
	said := strings.Join(visiting.Remarks(s), "\n")
	assert.Contains(t, said, "nameplate")
	assert.NotContains(t, said, "%!")
}

// Who checks a site file learns that a visit there only looks and clamps.
// 3 x 22.1 V x (1 + 0.0032 x 35) = 73.7 V (computed by hand); 60 V DC: IEC
// 60364-4-41 (from memory).
func TestRemarksOnTheLimits(t *testing.T) {
	s := site.Demo()
	for _, r := range visiting.Remarks(s) {
		assert.NotContains(t, r, "60 V DC")
	}
	s.Array.Series = 3
	assert.Contains(t, strings.Join(visiting.Remarks(s), "\n"), "the array can reach 74 V, above 60 V DC")
}

// Fuses and the controller against the current of their circuit; the figures are
// computed by hand from those of the file.
func TestRemarksOnRatings(t *testing.T) {
	tests := []struct {
		name   string
		change func(s *site.Site)
		want   string
	}{
		{"array fuse", func(s *site.Site) { s.Array.FuseA = 6 }, "short-circuit current of 5.9 A. In strong sun it may blow; common practice is 7.4 A"}, // 2 x 2.97, 1.25 x that
		{"load fuse", func(s *site.Site) { s.LoadWiring.FuseA = 2 }, "Load fuse: 2 A, but all listed loads together draw 2.8 A"},                        // 34 W / 12 V
		{"battery fuse", func(s *site.Site) { s.Battery.FuseA = 2.5 }, "Battery fuse: 2.5 A, but all listed loads together draw 2.8 A"},
		{"no battery fuse", func(s *site.Site) { s.Battery.FuseA = 0 }, "Battery: no fuse"},
		{"controller", func(s *site.Site) { s.Controller.RatedA = 5 }, "rated 5 A, but the array can bring 5.9 A"},
		// 22.1 V · (1 + 0.0032 · 35 K) = 24.6 V at -10 degrees Celsius.
		{"input", func(s *site.Site) { s.Controller.InputV = 23 }, "the array can reach 25 V, and the controller stands 23 V"},
		{"converting controller", func(s *site.Site) { s.Controller.RatedA, s.Controller.Kind = 8, site.MPPT }, "rated 8 A, but the array can bring 8.3 A"}, // 100 W / 12 V
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := site.Demo()
			before := visiting.Remarks(s)
			tt.change(s)
			after := visiting.Remarks(s)
			require.Len(t, after, len(before)+1)
			assert.Contains(t, strings.Join(after, "\n"), tt.want)
			assert.NotContains(t, strings.Join(after, "\n"), "%!")
		})
	}
	s := site.Demo()
	s.Array.FuseA, s.LoadWiring.FuseA = 0, 0 // no fuse there is usual in small systems
	assert.Equal(t, visiting.Remarks(site.Demo()), visiting.Remarks(s))
}

// withInverter is the demonstration with an inverter that suits it: 300 W over 0.88 and its
// own draw are 6 + 300 x (1/0.88 - 6/100) = 329 W, 27 A at 12 V and 31 A at 10.5 V; 1 m of
// 16 mm2 loses 27 x 0.00242 = 0.07 V of the 0.36 V that are 3 % (IEC 60228: 1.21 ohm/km).
func withInverter() *site.Site {
	s := site.Demo()
	s.Inverter = &site.Inverter{RatedW: 300, IdleW: 6, Efficiency: 0.88, CutV: 10.5, RestoreV: 12.5, From: site.FromBattery, FuseA: 40, CableM: 1, CableMM2: 16}
	s.Charger = &site.Charger{RatedA: 10, AbsorbV: s.Controller.AbsorbV, FloatV: s.Controller.FloatV}
	return s
}

// What a technician would remark of the parts of a plant; ampacities by IEC 60364-5-52 (69 A
// at 16 mm2, 30 A at 4 mm2, from memory), the other figures computed by hand.
func TestRemarksOnParts(t *testing.T) {
	tests := []struct {
		name   string
		change func(s *site.Site)
		want   []string
	}{
		{"thin cable", func(s *site.Site) { s.Inverter.CableMM2, s.Inverter.CableM, s.Inverter.FuseA = 4, 4, 30 },
			[]string{"4 m of 4 mm2. At full power 27 A flow, and 1.09 V are lost", "4 mm2 carries 30 A", "Inverter fuse: 30 A, but at full power on a low battery it draws 31 A"}},
		{"no fuse", func(s *site.Site) { s.Inverter.FuseA = 0 }, []string{"Inverter: no fuse"}},
		{"large fuse", func(s *site.Site) { s.Inverter.FuseA = 100 }, []string{"Inverter fuse: 100 A, but its cable of 16 mm2 carries 69 A"}},
		{"on the load output", func(s *site.Site) { s.Inverter.From = site.FromOutput }, []string{"Inverter on the load output: the controller is rated 10 A"}},
		{"small", func(s *site.Site) { s.Loads = append(s.Loads, site.Load{PowerW: 500, From: site.FromInverter}) }, []string{"rated 300 W, but its listed appliances together draw 500 W"}},
		{"strings", func(s *site.Site) { s.Battery.Strings = 2 }, []string{"2 strings in parallel. They share"}},
		{"many strings", func(s *site.Site) { s.Battery.Strings = 5 }, []string{"5 strings in parallel. They share", "Common practice is 3 at most"}},
		{"charger high", func(s *site.Site) { s.Charger.AbsorbV += 0.6 }, []string{"Mains charger: it charges to"}},
		{"charger low", func(s *site.Site) { s.Charger.AbsorbV -= 0.8; s.Charger.FloatV -= 0.8 }, []string{"may never be full"}},
		{"charger's float", func(s *site.Site) { s.Charger.FloatV += 0.5 }, []string{"holds a full battery at"}},
		{"charger's current", func(s *site.Site) { s.Charger.RatedA = 30 }, []string{"30 A for a battery of 80 Ah. Common practice is 20 A at most"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := withInverter()
			before := visiting.Remarks(s)
			assert.Equal(t, visiting.Remarks(site.Demo()), before, "nothing to remark")
			tt.change(s)
			after := visiting.Remarks(s)
			for _, want := range tt.want {
				assert.Contains(t, strings.Join(after, "\n"), want)
			}
			assert.NotContains(t, strings.Join(after, "\n"), "%!")
		})
	}
}

// A module of 60 cells on a 12 V series controller loses a third of its power and more;
// one of 36 cells little (common practice: the reason for 36 cells at 12 V).
func TestRemarksOnCells(t *testing.T) {
	s := site.Demo()
	lost := "of the power is lost"
	assert.NotContains(t, strings.Join(visiting.Remarks(s), "\n"), lost)
	m := &s.Array.Module
	m.Cells, m.VmpV, m.VocV, m.ImpA, m.IscA, m.PmpW, m.Bypass = 60, 30.2, 37.5, 8.3, 8.8, 250, 3
	assert.Contains(t, strings.Join(visiting.Remarks(s), "\n"), "60 cells in series on a 12 V controller that only switches. It holds the array at the battery's voltage, so about 4")
	s.Controller.Kind = site.MPPT
	assert.NotContains(t, strings.Join(visiting.Remarks(s), "\n"), lost)
}
