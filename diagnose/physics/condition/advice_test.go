package condition

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
	"ampwalk/diagnose/physics/site"
)

// The situations are common practice of the trade (no published source).
func TestAdvise(t *testing.T) {
	tests := []struct {
		name  string
		state AdviceState
		want  []string
	}{
		{"nearly full battery held back",
			AdviceState{Daylight: 1, Charging: 1, Regulating: 0.97, ChargeLevel: 0.95, Chemistry: site.Flooded},
			[]string{"held-back"}},
		{"held back far from full",
			AdviceState{Daylight: 1, Charging: 1, Regulating: 0.9, ChargeLevel: 0.45, Chemistry: site.AGM},
			[]string{"held-back-early"}},
		{"plain charging by day",
			AdviceState{Daylight: 1, Charging: 0.98, Regulating: 0.02, ChargeLevel: 0.6, Chemistry: site.Flooded},
			[]string{"charging"}},
		{"night, half-empty battery",
			AdviceState{ChargeLevel: 0.62, Chemistry: site.Gel},
			[]string{"dark", "dark-half-empty"}},
		{"night, half charge or below, no sun",
			AdviceState{ChargeLevel: 0.5, Chemistry: site.LFP},
			[]string{"dark", "dark-run-down"}},
		{"night, well charged",
			AdviceState{ChargeLevel: 0.9, Chemistry: site.LFP},
			[]string{"dark", "dark-well-charged"}},
		{"loads cut at night, lead-acid",
			AdviceState{LoadsCut: 0.99, ChargeLevel: 0.12, Chemistry: site.Flooded},
			[]string{"loads-cut", "dark", "low-lead-acid"}},
		{"loads cut, first sun",
			AdviceState{Daylight: 1, Charging: 1, LoadsCut: 0.9, ChargeLevel: 0.25, Chemistry: site.Flooded},
			[]string{"loads-cut", "charging", "low-lead-acid"}},
		{"a quarter of lithium is not low",
			AdviceState{Daylight: 1, Charging: 1, ChargeLevel: 0.25, Chemistry: site.LFP},
			[]string{"charging"}},
		{"daylight without charge",
			AdviceState{Daylight: 1, Charging: 0.02, ChargeLevel: 0.7, Chemistry: site.Flooded},
			[]string{"no-charge-by-day"}},
		{"charge not clear",
			AdviceState{Daylight: 0.9, Charging: 0.5, ChargeLevel: 0.7, Chemistry: site.Flooded},
			[]string{"charge-unclear"}},
		{"rounded beyond the ends",
			AdviceState{Daylight: 1 + 1e-12, Charging: 1 + 1e-12, Regulating: -1e-12, ChargeLevel: 1 + 1e-12, Chemistry: site.AGM},
			[]string{"charging"}},
		{"charge level not known",
			AdviceState{ChargeLevel: math.NaN(), Chemistry: site.Flooded},
			[]string{"dark"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, tip := range Advise(tt.state) {
				got = append(got, tip.ID)
			}
			assert.Equal(t, tt.want, got)
		})
	}
}

// Whatever is believed, the person gets one sentence about the day or the dark
// and few beside it, and "heavy loads now" never stands beside "spare it".
func TestAdviseAlwaysSaysSomething(t *testing.T) {
	moment := map[string]bool{
		"held-back": true, "held-back-early": true, "charging": true,
		"charge-unclear": true, "no-charge-by-day": true, "dark": true,
	}
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.Float64Range(0, 1)
		st := AdviceState{
			Daylight:    p.Draw(t, "daylight"),
			Charging:    p.Draw(t, "charging"),
			Regulating:  p.Draw(t, "regulating"),
			LoadsCut:    p.Draw(t, "loads cut"),
			ChargeLevel: p.Draw(t, "charge level"),
			Chemistry:   rapid.SampledFrom(chemistries).Draw(t, "chemistry"),
		}
		n, invites, spares := 0, false, false
		tips := Advise(st)
		for _, tip := range tips {
			if moment[tip.ID] {
				n++
			}
			invites = invites || tip.ID == "held-back"
			spares = spares || tip.ID == "dark-run-down" || strings.HasPrefix(tip.ID, "low-")
		}
		require.Equal(t, 1, n, "%v", tips)
		require.LessOrEqual(t, len(tips), 3)
		require.False(t, invites && spares, "%v", tips)
	})
}

func TestAdviceFile(t *testing.T) {
	seen := map[string]bool{}
	for _, r := range adviceRules() {
		assert.False(t, seen[r.ID], r.ID)
		seen[r.ID] = true
		assertText(t, r.ID, 30)
		assertText(t, r.Title, 40)
		assertSentences(t, r.Text, 180)
		for _, s := range []*span{r.Daylight, r.Charging, r.Regulating, r.LoadsCut, r.ChargeLevel} {
			if s != nil {
				assert.True(t, 0 <= s[0] && s[0] < s[1] && s[1] <= 1, "%s: %v", r.ID, *s)
			}
		}
		for _, chem := range r.Chemistries {
			assert.Contains(t, chemistries, chem)
		}
	}
}
