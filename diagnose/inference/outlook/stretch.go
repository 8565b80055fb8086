package outlook

import (
	"math"
	"time"

	"ampwalk/diagnose/physics/site"
	"ampwalk/diagnose/physics/sun"
)

// A stretch is a time in even steps, with what is alike for all draws.
type stretch struct {
	start  time.Time
	step   time.Duration
	skies  []sun.Sky
	day    []int     // of each step, from 0
	swing  []float64 // of the air about the mean of its day [K]
	uses   []Use
	on     [][]float64 // share of each step that each use is on
	days   []daylight  // the one before start first
	number int         // of days begun
}

func newStretch(c *climate, start time.Time, step time.Duration, n int, uses []Use) *stretch {
	s := &stretch{start: start, step: step, skies: c.skies(start, step, n), uses: uses, day: make([]int, n), swing: make([]float64, n)}
	y, m, d := start.Date()
	midnight := time.Date(y, m, d, 0, 0, 0, 0, start.Location())
	s.number = int(s.at(n).Sub(midnight)/(24*time.Hour)) + 1
	s.days = daysFrom(start, s.number+3, c.place)
	for i := range n {
		middle := s.at(i).Add(step / 2)
		s.day[i] = int(middle.Sub(midnight) / (24 * time.Hour))
		s.swing[i] = swingAt(middle, c.place)
	}
	s.on = make([][]float64, len(uses))
	for k, u := range uses {
		s.on[k] = make([]float64, n)
		for i := range n {
			s.on[k][i] = u.share(s.at(i), s.at(i+1), s.days[s.day[i]:s.day[i]+3])
		}
	}
	return s
}

// upTo are the first n steps, and from those after them; neither knows the uses.
func (s *stretch) upTo(n int) *stretch {
	return &stretch{start: s.start, step: s.step, skies: s.skies[:n], day: s.day[:n], swing: s.swing[:n]}
}

func (s *stretch) from(n int) *stretch {
	return &stretch{start: s.at(n), step: s.step, skies: s.skies[n:], day: s.day[n:], swing: s.swing[n:]}
}

func (s *stretch) at(i int) time.Time { return s.start.Add(time.Duration(i) * s.step) }

// watts are the powers of the uses that run in a step, up to a priority.
func (s *stretch) watts(i, priority int) (w powers) {
	for k, u := range s.uses {
		if u.Priority <= priority {
			w = w.plus(u, s.on[k][i])
		}
	}
	return w
}

// allPriorities is above any priority of a load.
const allPriorities = math.MaxInt

// swingAt is how far the air is from the mean of its day [K].
func swingAt(t time.Time, p site.Place) float64 { return ofDay(sunHour(t, p.LongitudeDeg)) }

// lead takes a runner over all steps; each is told of a step after it was solved and
// before it passes.
func (r *runner) lead(s *stretch, clear []float64, meanC float64, watts func(i int) powers, each func(i int)) {
	h := s.step.Hours()
	for i := range s.skies {
		r.solve(s.skies[i].Plane(clear[s.day[i]]), meanC+s.swing[i], meanC, watts(i))
		if each != nil {
			each(i)
		}
		r.pass(h)
	}
}
