package halfsplit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// The posterior is a sum of normals, each updated in closed form (a Gaussian sum
// filter; Sorenson and Alspach 1971, from memory). A component says which part it is,
// and has three unknowns: the source's voltage, what the far side of a break shows
// (of a joint: the source's less what the joint takes), and the current. A reading is
// one of the two voltages less what the current loses on the sound parts before it,
// and an error. Readings that are simply wrong make a second component that learnt
// nothing from it.

// The unknowns.
const (
	atSource = iota
	beyond
	current
	unknowns
)

type vector [unknowns]float64

type component struct {
	part   int
	weight float64
	mean   vector
	cov    [unknowns]vector
	noise  [2]float64 // variance of a reading's own error at the source's and at the far voltage [V²]
}

// How readings go wrong (judgement): a probe on varnish or rust shows about nothing,
// and a slip, such as a wrong point or a wrong digit, may show anything.
const (
	noContact   = 0.02
	slip        = 0.01
	noContactSD = 0.05 // [V]
)

// steadySD is what a dead wire's voltage moves about [V] (judgement).
const steadySD = 0.03

// currentSpread is how well the loss on sound parts is known where the current was
// measured: the clamp's error, its change since, and the cable's true length, of the
// current, and at least currentLeast [A] (judgement).
const (
	currentSpread = 0.25
	currentLeast  = 0.1
)

// prior is what is believed before the readings.
func (s Search) prior() (list []component) {
	n := len(s.chain.Parts)
	for k := range n {
		if s.fault == Joint {
			list = append(list, s.priorJoint(k)...)
		} else {
			list = append(list, s.priorOpen(k)...)
		}
	}
	return list
}

func (s Search) priorOpen(part int) (list []component) {
	e := s.chain.expected
	p := s.chain.Parts[part].Prior
	is, ok := kindsOf[s.ends.Far]
	if !ok {
		is = e.kinds
	}
	own := sq(s.jitter())
	source := own + sq(e.drift*e.open.mean)
	add := func(share float64, far normal, onSource, level float64) {
		c := component{part: part, weight: p * share, noise: [2]float64{source, own + sq(steadySD) + sq(e.drift*level)}}
		c.mean[atSource], c.mean[beyond] = e.open.mean, onSource*e.open.mean+far.mean
		c.cov[atSource][atSource] = e.open.variance()
		c.cov[atSource][beyond] = onSource * e.open.variance()
		c.cov[beyond][atSource] = c.cov[atSource][beyond]
		c.cov[beyond][beyond] = sq(onSource)*e.open.variance() + far.variance()
		list = append(list, c)
	}
	add(is.dead, normal{0, steadySD}, 0, 0)
	add(is.fed, e.fed, 0, max(e.fed.mean, e.open.mean)) // no steadier than the source, or equal readings would speak for it
	for _, g := range ghosts() {
		add(is.ghost/leaks, normal{0, g.sd * e.open.mean}, g.share, g.share*e.open.mean)
	}
	return list
}

func (s Search) priorJoint(part int) (list []component) {
	e := s.chain.expected
	flows := e.current
	if !math.IsNaN(s.ends.CurrentA) {
		flows = normal{s.ends.CurrentA, max(currentSpread*math.Abs(s.ends.CurrentA), currentLeast)}
	}
	noise := sq(s.jitter()) + sq(e.held*e.closed.mean)
	forward := distuv.UnitNormal.CDF(flows.mean / flows.sd)
	if e.oneWayIs {
		forward = 1
	}
	ds := e.joint.drops(flows)
	for _, d := range ds {
		for _, way := range []struct{ sign, share float64 }{{1, forward}, {-1, 1 - forward}} {
			if way.share < 1e-6 {
				continue
			}
			c := component{part: part, weight: s.chain.Parts[part].PriorJoint * way.share / float64(len(ds)), noise: [2]float64{noise, noise}}
			c.mean = vector{e.closed.mean, e.closed.mean - way.sign*d.mean, flows.mean}
			if math.IsNaN(s.ends.CurrentA) && !e.oneWayIs {
				c.mean[current] = way.sign * flows.sd / 2
			}
			v := e.closed.variance()
			c.cov = [unknowns]vector{{v, v, 0}, {v, v + d.variance(), 0}, {0, 0, flows.variance()}}
			list = append(list, c)
		}
	}
	return list
}

// jitter is the voltmeter's own error from one reading to the next, as a standard
// deviation [V]. What it shows too high or too low of every reading alike is in the
// width of the source's voltage, since only differences count here.
func (s Search) jitter() float64 {
	in := s.ends.Voltmeter
	in.Percent = 0
	return in.StandardUncertainty(0)
}

// at is how the node's voltage comes from the unknowns of c.
func (c *component) at(n Node, ohm float64) (h vector, level int) {
	level = atSource
	if c.part < n.behind {
		level = beyond
	}
	h[level], h[current] = 1, -ohm
	return h, level
}

// predict is what a right reading at the node would show under c: mean [V] and
// variance [V²].
func (c *component) predict(n Node, ohm float64) (mean, variance float64) {
	h, level := c.at(n, ohm)
	ch := c.times(h)
	return dot(h, c.mean), dot(h, ch) + c.noise[level]
}

// learn is c after a right reading, its weight by how well it foresaw it.
func (c component) learn(n Node, ohm, volts float64) component {
	h, level := c.at(n, ohm)
	ch := c.times(h)
	mean, variance := dot(h, c.mean), dot(h, ch)+c.noise[level]
	c.weight *= density(volts, mean, variance)
	for i := range unknowns {
		c.mean[i] += ch[i] * (volts - mean) / variance
		for j := range unknowns {
			c.cov[i][j] -= ch[i] * ch[j] / variance
		}
	}
	return c
}

func (c *component) times(h vector) (v vector) {
	for i := range unknowns {
		v[i] = dot(c.cov[i], h)
	}
	return v
}

// wrong is the density of a reading that is wrong, times how often one is [1/V].
func (s Search) wrong(volts float64) float64 {
	w := noContact * density(volts, 0, sq(noContactSD))
	if most := s.chain.expected.most; math.Abs(volts) <= most {
		w += slip / (2 * most)
	}
	return w + 1e-12 // so that no figure can leave nothing to believe
}

// update is what is believed after a reading.
func (s Search) update(list []component, n Node, volts float64) []component {
	ohm, wrong := s.chain.ohmTo(n), s.wrong(volts)
	next := make([]component, 0, 2*len(list))
	for _, c := range list {
		right := c.learn(n, ohm, volts)
		right.weight *= 1 - noContact - slip
		c.weight *= wrong
		next = append(next, right, c)
	}
	return pruned(next)
}

// pruned makes the weights add up to 1 and leaves out what is below a ten-millionth.
func pruned(list []component) []component {
	const least = 1e-7
	var sum float64
	for _, c := range list {
		sum += c.weight
	}
	kept := list[:0]
	for _, c := range list {
		if c.weight /= sum; c.weight > least {
			kept = append(kept, c)
		}
	}
	return kept
}

func density(x, mean, variance float64) float64 {
	return math.Exp(-sq(x-mean)/(2*variance)) / math.Sqrt(2*math.Pi*variance)
}

func dot(a, b vector) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

func sq(x float64) float64 { return x * x }
