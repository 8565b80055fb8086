package procedure

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid
)

// Whatever is answered, and whatever is corrected at whatever moment, the visit
// ends, leaves nothing open without a labelled reason, never connects the array
// while the battery is known to be off, and resumes to the same state.
func TestCorrections(t *testing.T) {
	sites := allSites()
	rapid.Check(t, func(t *rapid.T) {
		p := For(rapid.SampledFrom(sites).Draw(t, "site"))
		worth := rapid.SampledFrom([]Worth{nothing, second, setUp, rising}).Draw(t, "worth")
		corrections := rapid.IntRange(0, 8).Draw(t, "corrections")
		var history []Outcome
		answer := func(s Step, asked bool) {
			o := good(s)
			if rapid.IntRange(0, 11).Draw(t, "well") == 0 { // mostly well, to get far
				o = rapid.SampledFrom(answers(s)).Draw(t, "answer")
			}
			o.Again = asked && slices.ContainsFunc(history, func(e Outcome) bool { return e.Step == s.ID })
			history = append(history, o)
		}
		for {
			st := p.Replay(history)
			s, _, ok := p.Next(st, worth)
			if corrections > 0 && len(history) > 0 && rapid.IntRange(0, 19).Draw(t, "correct") == 0 {
				corrections--
				earlier, _ := p.Step(rapid.SampledFrom(history).Draw(t, "which").Step)
				answer(earlier, false)
				continue
			}
			if !ok {
				for b, f := range flags {
					if st.Has(f) && openFlags&(1<<b) != 0 {
						require.NotEmpty(t, p.leftWhy(st, b), f)
						require.NotEqual(t, Open, st.Mark("label-open"), f)
					}
				}
				return
			}
			if s.ID == "array-connect" {
				require.False(t, st.Has(BatteryIsolated) || st.Has(ArrayShorted))
				if _, has := p.Step("battery-connected"); has { // within a closed kit nobody sees it
					require.NotEqual(t, Open, st.Mark("battery-connected"))
				}
			}
			if s.ID == "battery-connect" {
				require.True(t, st.Has(ArrayIsolated), "the battery is connected before the array")
			}
			require.Less(t, len(history), 5*len(p.Steps), "the visit does not end")
			answer(s, true)
		}
	})
}
