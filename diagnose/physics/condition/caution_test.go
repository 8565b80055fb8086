package condition

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/site"
)

func cautionIDs(chem site.Chemistry, parts ...Part) []string {
	var ids []string
	for _, c := range Cautions(site.Battery{Chemistry: chem, CapacityAh: 80}, parts...) {
		ids = append(ids, c.ID)
	}
	return ids
}

// Dangers named by safety pages on stand-alone systems; common practice.
func TestCautions(t *testing.T) {
	tests := []struct {
		name      string
		chem      site.Chemistry
		parts     []Part
		has, lack []string
	}{
		{"everything, flooded", site.Flooded, nil,
			[]string{"local-codes", "electric-shock", "dc-arc", "battery-short-circuit", "order", "acid", "hydrogen", "heights", "heat"},
			[]string{"lithium"}},
		{"everything, lithium", site.LFP, nil,
			[]string{"local-codes", "battery-short-circuit", "lithium"}, []string{"acid", "hydrogen"}},
		{"array only", site.Flooded, []Part{Array},
			[]string{"local-codes", "electric-shock", "dc-arc", "heights", "heat"}, []string{"acid", "hydrogen", "weight"}},
		{"loads only", site.AGM, []Part{Load},
			[]string{"local-codes", "dc-arc", "heat"}, []string{"heights", "acid"}},
		{"sealed battery", site.Gel, []Part{Battery},
			[]string{"local-codes", "battery-short-circuit", "acid", "hydrogen"}, []string{"heights"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got := cautionIDs(tt.chem, tt.parts...)
			assert.Subset(t, got, tt.has)
			for _, id := range tt.lack {
				assert.NotContains(t, got, id)
			}
			assert.Equal(t, "local-codes", got[0])
		})
	}
}

// The current follows the capacity: some 1700 A of 80 Ah of lead-acid (2.108 V
// over 0.10 ohm.Ah per cell, computed by hand), a hundredth of it of 0.8 Ah.
func TestShortCircuitCaution(t *testing.T) {
	for ah, amps := range map[float64]string{80: "about 1700 A", 0.8: "about 17 A"} {
		for _, c := range Cautions(site.Battery{Chemistry: site.Flooded, CapacityAh: ah}) {
			assert.NotContains(t, c.Text, "{")
			if c.ID == "battery-short-circuit" {
				assert.Contains(t, c.Text, amps)
			}
		}
	}
}

func TestCautionsFile(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range cautions() {
		assert.False(t, seen[c.ID], c.ID)
		seen[c.ID] = true
		assertText(t, c.Title, 40)
		assertSentences(t, c.Text, 200)
		for _, p := range c.Parts {
			assert.Contains(t, []Part{Array, Controller, Battery, Load}, p)
		}
		for _, chem := range c.Chemistries {
			assert.Contains(t, chemistries, chem)
		}
	}
}
