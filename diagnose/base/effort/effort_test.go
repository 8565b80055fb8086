package effort

import (
	"flag"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"
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

// A test whose cases are dear draws fewer of them, the next one all.
func TestFewer(t *testing.T) {
	draw := func(t *testing.T) (cases int) {
		rapid.Check(t, func(*rapid.T) { cases++ })
		return cases
	}
	before := draw(t)
	t.Run("dear", func(t *testing.T) {
		Fewer(t, 7)
		if All() || testing.Short() {
			assert.Equal(t, before, draw(t))
		} else {
			assert.Equal(t, 7, draw(t))
		}
	})
	assert.Equal(t, before, draw(t))
}
