package effort

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestOf(t *testing.T) {
	switch got := Of(1, 2, 3); {
	case testing.Short():
		assert.Equal(t, 1, got)
	case All():
		assert.Equal(t, 3, got)
	default:
		assert.Equal(t, 2, got)
	}
}

// A free seed is for CI only.
func TestSeed(t *testing.T) {
	if All() {
		assert.NotEqual(t, uint64(20261130), Seed)
		return
	}
	assert.Equal(t, uint64(20261130), Seed)
	assert.NotEqual(t, "0", flag.Lookup("rapid.seed").Value.String())
}
