package scenarios

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/belief"
)

// Who reads in the informed order names more, believes better and scores higher
// than who reads at random or by a fixed list. `ampwalk scenario players` does
// the same with 500 scenarios.
func TestInformedOrderWins(t *testing.T) {
	if os.Getenv("AMPWALK_CONTEST") == "" {
		t.Skip("runs with AMPWALK_CONTEST set: practice is not finished, and this does not hold for every scenario yet")
	}
	if testing.Short() {
		t.Skip("plays some scenarios")
	}
	c := NewContest()
	for i := range 18 {
		require.NoError(t, c.Play(Generate(1+i%Levels, uint64(i)), belief.Infer, uint64(i)))
	}
	t.Log("\n" + c.Table())
	informed := c.players[0]
	for _, other := range c.players[1:] {
		assert.Greater(t, informed.named, other.named, other.name)
		assert.Less(t, informed.brier, other.brier, other.name)
		assert.Greater(t, informed.score, other.score+3*float64(c.played), other.name)
	}
}
