package procedure

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What is ahead at the start is no less than what a visit then takes, and not much more;
// it falls to nothing at the end, and stopping leaves no reading.
func TestAhead(t *testing.T) {
	for _, s := range allSites() {
		for name, worth := range map[string]Worth{"everything": everything, "nothing": nothing} {
			p, st, after := For(s), State{}, ""
			by := func() Search { return Search{Worth: worth, After: after} }
			readings, minutes := p.Ahead(st, by())
			taken, took := 0, 0.
			for range 3 * len(p.Steps) {
				i, _, ok := p.next(st, by())
				if !ok {
					break
				}
				step := p.Steps[i]
				if step.Kind == Take && step.Meter != "" {
					taken++
				}
				took += step.Minutes
				st, after = p.Apply(st, good(step)), step.ID
			}
			assert.GreaterOrEqual(t, readings, taken, "%s, %s", s.Name, name)
			assert.LessOrEqual(t, readings, taken+3, "%s, %s", s.Name, name)
			assert.InDelta(t, minutes, took, 0.35*minutes, "%s, %s", s.Name, name)
			left, rest := p.Ahead(st, by())
			assert.Zero(t, left, "%s, %s", s.Name, name)
			assert.Less(t, rest, 1., "%s, %s", s.Name, name)

			stopped := p.Apply(State{}, Outcome{Step: p.Steps[0].ID, Kind: Stop, Reason: "x"})
			left, _ = p.Ahead(stopped, by())
			assert.Zero(t, left)
		}
	}
}
