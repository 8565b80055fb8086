package visiting_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/field/procedure"
	"ampwalk/diagnose/field/visiting"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// Two colleagues with the same answers, minutes apart, are asked the same next question and
// told the same reasons in the same words: nothing hangs on the seconds of the clock.
func TestSameAnswersSameWords(t *testing.T) {
	if testing.Short() {
		t.Skip("it infers several times")
	}
	for name, numbers := range map[string]map[reading.Key]float64{
		"healthy":    {reading.Irradiance: 760, reading.ModuleC: 45, reading.AirC: 29, reading.BatteryA: 3.1, reading.BatteryV: 13.3},
		"array open": {reading.Irradiance: 760, reading.ArrayA: 0, reading.ArrayV: 0.02, reading.BatteryV: 12.5},
	} {
		t.Run(name, func(t *testing.T) {
			var first *visiting.Interpretation
			var said []string
			for _, after := range []time.Duration{0, 23 * time.Second, 70 * time.Second, 4 * time.Minute} {
				set := reading.NewSet()
				set.TakenAt, set.LoadsOn = start.Round(10*time.Minute).Add(after), []string{"radio"}
				set.Words[reading.Sky] = "clear"
				set.Numbers = numbers
				in := belief.Input{Site: site.Demo(), Readings: set}
				told, err := visiting.Interpret(in, visiting.Steady(belief.Infer))
				require.NoError(t, err)
				words := []string{string(told.Result.Leader().ID)}
				words = append(words, visiting.Because(told.Result, set, procedure.For(in.Site), 3)...)
				words = append(words, visiting.Together(in.Site, told.Result, nil, set, reading.BatteryV).Text)
				if first == nil {
					first, said = told, words
					continue
				}
				require.Equal(t, first.Next == nil, told.Next == nil, after)
				if first.Next != nil {
					assert.Equal(t, first.Next.Step, told.Next.Step, after)
				}
				assert.Equal(t, said, words, after)
			}
		})
	}
}
