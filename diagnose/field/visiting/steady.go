package visiting

import (
	"time"

	"ampwalk/diagnose/inference/belief"
)

// steadyFor is how finely the hour counts. In half of it the sun goes little more than a
// degree, which changes the light on an array by some 2 %: less than a light meter errs.
const steadyFor = 10 * time.Minute

// Steady is infer with the hour of the readings rounded, so that the same answers minutes
// apart give the same next question and the same reasons, figure for figure.
func Steady(infer Inferrer) Inferrer {
	return func(in belief.Input) (*belief.Result, error) {
		if in.Readings != nil && !in.Readings.TakenAt.IsZero() {
			in.Readings = in.Readings.Clone()
			in.Readings.TakenAt = in.Readings.TakenAt.Round(steadyFor)
		}
		return infer(in)
	}
}
