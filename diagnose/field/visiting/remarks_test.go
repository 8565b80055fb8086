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
