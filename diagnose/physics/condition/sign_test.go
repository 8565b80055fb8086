package condition

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"ampwalk/diagnose/physics/reading"
)

// Every sign is one that a readings file can name, its causes are in the catalogue, and
// each makes it more common than where nothing is wrong.
func TestSignsAreKnown(t *testing.T) {
	for list, choices := range map[reading.Key][]string{
		reading.Seen: reading.Damages, reading.Complaint: reading.Complaints, reading.Changed: reading.Changes,
	} {
		known := []string{reading.None}
		for _, s := range Signs(list) {
			assert.Contains(t, choices, s.ID)
			assert.NotContains(t, known, s.ID)
			known = append(known, s.ID)
			assert.Positive(t, s.Without, s.ID)
			for id, p := range s.With {
				assert.NotZero(t, Of(id), "%s: %s", s.ID, id)
				assert.Greater(t, p, s.Without, "%s: %s", s.ID, id)
				assert.Less(t, p, 1.0, "%s: %s", s.ID, id)
			}
			for state, p := range s.State {
				assert.Contains(t, []PlantState{NoSupply, RunDown, Overcharged}, state)
				assert.Greater(t, p, s.Without)
			}
		}
		for _, id := range choices {
			assert.Contains(t, known, id)
		}
	}
}

// One list alone never moves the odds by more than ten, whatever is in it.
func TestSignsNeverDecideAlone(t *testing.T) {
	for _, c := range All() {
		for _, list := range []reading.Key{reading.Seen, reading.Complaint, reading.Changed} {
			var all []string
			for _, s := range Signs(list) {
				if len(s.Shows) == 0 {
					all = append(all, s.ID)
				}
			}
			for _, noted := range [][]string{nil, all} {
				w := LogWeight(list, noted, nil, []ID{c.ID}, nil)
				assert.LessOrEqual(t, math.Abs(w), math.Log(10)+1e-12)
			}
		}
	}
	assert.Zero(t, LogWeight(reading.Seen, []string{"insects"}, nil, nil, nil))
	assert.Positive(t, LogWeight(reading.Seen, []string{"plates-bare"}, nil, []ID{ElectrolyteLow}, nil))
	assert.Negative(t, LogWeight(reading.Seen, nil, nil, []ID{ElectrolyteLow}, nil))
	assert.Zero(t, LogWeight(reading.Seen, nil, []string{"insects"}, []ID{ElectrolyteLow}, nil), "nobody looked into the cells")
	assert.True(t, slices.Contains(reading.Damages, "plates-bare"))
}
