package halfsplit

import (
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/physics/site"
)

// sites are those of the cases kept here, and invented ones.
func sites(t *testing.T, rng *rand.Rand) (list []*site.Site) {
	t.Helper()
	files, err := filepath.Glob("../../../testdata/cases/*/site.toml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		s, err := site.Parse(file, text)
		require.NoError(t, err)
		list = append(list, s)
	}
	for range 2 * len(files) {
		list = append(list, Invent(rng))
	}
	return list
}

// The demand: where it can be reached, the right part is named in at least nine of ten,
// in at most four readings after those at the ends, on average; in each circuit. A
// part that is named is hardly ever the wrong one.
func TestNineInTenInFourReadings(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 0))
	list := sites(t, rng)
	for _, c := range Circuits {
		for _, f := range Faults {
			t.Run(fmt.Sprintf("%s/%s", c, f), func(t *testing.T) {
				var trials, reached, right, wrong, readings int
				for i := range 300 {
					s := list[i%len(list)]
					if len(s.Loads) == 0 && c == Load {
						continue
					}
					trial := NewTrial(s, c, f, rng)
					o := trial.Run()
					trials++
					readings += o.Readings
					if o.Named != "" && !trial.Right(o) {
						wrong++
					}
					if trial.Reached {
						reached++
						if trial.Right(o) {
							right++
						}
					}
				}
				require.Greater(t, reached, 150)
				assert.GreaterOrEqual(t, float64(right)/float64(reached), 0.9)
				assert.LessOrEqual(t, float64(readings)/float64(trials), 4.)
				assert.LessOrEqual(t, float64(wrong)/float64(trials), 1-Sure, "as often as the threshold says, or less")
			})
		}
	}
}

// By hand: 12 V behind 1 ohm, two parts of 1 ohm in plus and 2 ohm in minus, and 5 ohm
// at the end: 12 ohm in all, 1 A.
func TestLadderByHand(t *testing.T) {
	l := ladder{plus: []float64{1, 1}, minus: []float64{2, 2}, source: emf{12, 1}, sink: emf{0, 5}, leak: 1e12, meter: 1e12}
	assert.InDelta(t, 11, l.read(0), 1e-6)
	assert.InDelta(t, 8, l.read(1), 1e-6)
	assert.InDelta(t, 5, l.read(2), 1e-6)
	assert.InDelta(t, 1, l.amperes(), 1e-6)
}

// A meter of 10 megohm behind a gap of 10 megohm shows half of the source, on a wire
// that nothing else holds; behind a gap with a resistor of 1 kilohm it shows nothing.
// Where another source feeds the far side, it shows that one.
func TestLadderOpen(t *testing.T) {
	float := ladder{plus: []float64{0.01, 10e6, 0.01}, minus: []float64{0.01, 0.01, 0.01}, source: emf{12, 0.1}, sink: emf{0, 1e15}, leak: 1e15, meter: 10e6}
	assert.InDelta(t, 12, float.read(1), 1e-5)
	assert.InDelta(t, 6, float.read(2), 1e-4)
	assert.InDelta(t, 6, float.read(3), 1e-4)
	float.sink = emf{0, 1e3}
	assert.InDelta(t, 0.0012, float.read(2), 1e-5) // 12 V · 1k/10M
	float.sink = emf{18, 1}
	assert.InDelta(t, 18, float.read(2), 1e-4)
	assert.InDelta(t, 12, float.read(1), 1e-4)
}
