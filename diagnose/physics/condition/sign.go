package condition

import (
	_ "embed"
	"math"
	"slices"
	"sync"

	"ampwalk/diagnose/physics/reading"
)

//go:embed signs.toml
var signsFile []byte

// A PlantState is how a plant stands as people notice it, whatever is wrong.
type PlantState string

// The states that signs go with.
const (
	NoSupply    PlantState = "no-supply"   // the loads are cut off, or their output is dead
	RunDown     PlantState = "run-down"    // charge below a third
	Overcharged PlantState = "overcharged" // far above what the battery may have
)

// A Sign is one entry of a list of what people see or say, with the chance that it is noted
// (all judgement, see signs.toml).
type Sign struct {
	List    string                 `toml:"list"` // the reading's key
	ID      string                 `toml:"id"`
	Without float64                `toml:"without"` // where nothing below is the case
	With    map[ID]float64         `toml:"with"`
	State   map[PlantState]float64 `toml:"state"`
	Shows   []ID                   `toml:"shows"` // what it is the very sight of: then it is a reading, not a hint
}

// Signs are those of a list.
func Signs(list reading.Key) []Sign { return signs()[list] }

var signs = sync.OnceValue(func() map[reading.Key][]Sign {
	var file struct {
		Sign []Sign `toml:"sign"`
	}
	mustDecode("signs.toml", signsFile, &file)
	lists := map[reading.Key][]Sign{}
	for _, s := range file.Sign {
		lists[reading.Key(s.List)] = append(lists[reading.Key(s.List)], s)
	}
	return lists
})

// Chance of a sign with these conditions in this state: the greatest that any of them
// gives. What makes a sign rarer than where nothing is wrong is not told.
func (s *Sign) Chance(ids []ID, state []PlantState) float64 {
	p := s.Without
	for _, id := range ids {
		p = max(p, s.With[id])
	}
	for _, st := range state {
		p = max(p, s.State[st])
	}
	return p
}

// signWeight bounds what one list may weigh against no sign at all, as a factor of
// likelihood up and down: what people say and see never decides alone (judgement).
const signWeight = 10

// LogWeight is the logarithm of what a list of signs that were noted, and those that were
// looked for and not noted, weigh for the conditions in the state of the plant, against a plant with no such
// cause. It lies within ln [1/10, 10], but for the very sight of what is wrong. Where looked is nil, all of the list were looked for.
func LogWeight(list reading.Key, noted, looked []string, ids []ID, state []PlantState) float64 {
	var ln, sight float64
	for i := range signs()[list] {
		s := &signs()[list][i]
		p := s.Chance(ids, state)
		if p == s.Without || looked != nil && !slices.Contains(looked, s.ID) {
			continue
		}
		if slices.Contains(noted, s.ID) {
			w := math.Log(p / s.Without)
			if slices.ContainsFunc(ids, func(id ID) bool { return slices.Contains(s.Shows, id) }) {
				sight += w
			} else {
				ln += w
			}
		} else {
			ln += math.Log((1 - p) / (1 - s.Without))
		}
	}
	most := math.Log(signWeight)
	return min(max(ln, -most), most) + sight
}
