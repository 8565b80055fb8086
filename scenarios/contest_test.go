package scenarios

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/inference/belief"
)

// Who reads in the informed order names more, believes better and scores higher
// than who measures at random or by a fixed list. `ampwalk scenario players` does
// the same with 500 scenarios.
func TestInformedOrderWins(t *testing.T) {
	if testing.Short() {
		t.Skip("plays some scenarios")
	}
	t.Parallel()
	const contestIn = 15 // scenarios
	c := NewContest()
	for i := range contestIn {
		require.NoError(t, c.Play(Generate(1+i%Levels, uint64(i)), belief.Infer, uint64(i)))
	}
	t.Log("\n" + c.Table())
	informed := c.players[0]
	for _, other := range c.players[1:] {
		assert.GreaterOrEqual(t, informed.named, other.named, other.name)
		assert.Less(t, informed.brier, other.brier, other.name)
		assert.Greater(t, informed.score, other.score+float64(3*contestIn), other.name)
	}
}
