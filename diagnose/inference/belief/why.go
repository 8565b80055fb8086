package belief

import (
	"maps"
	"math"
	"slices"

	"ampwalk/diagnose/physics/reading"
)

// A view is what the belief says of one reading, taken or not.
type view struct {
	observation       // a number, or the lowest of a list
	word        *word // or what was seen
	taken       bool  // only such a reading is evidence
	ranges      bool  // there are ranges of what it would show; none of a list not taken
	normal      Range // at a sound plant
	expect      Range // by the whole belief without the reading itself
	shown       []Showing
	evidence    Evidence
}

// views lists the readings that there is something to say of.
func (m *model) views() []view {
	var vs []view
	for _, spec := range reading.Specs {
		number := spec.Form == reading.Number || spec.Form == reading.List
		if number && spec.Key != reading.Minutes && spec.Key != reading.StepA && reading.Offered(spec.Key, m.site) && !m.set.Has(spec.Key) {
			vs = append(vs, view{observation: m.ask(spec), ranges: spec.Form == reading.Number})
		}
	}
	done := map[reading.Key]bool{}
	for _, o := range m.obs {
		if !done[o.key] { // not a list's second figure
			vs = append(vs, view{observation: o, taken: true, ranges: true})
		}
		done[o.key] = true
	}
	for i := range m.words {
		vs = append(vs, view{word: &m.words[i], taken: true})
	}
	return vs
}

// explain fills the ranges that readings would show and what each taken
// reading says.
func (m *model) explain(ps []particle, r *Result) {
	leader, runner := m.contenders(ps)
	ids, hyps := m.alone(ps, r.Conditions)
	sound := m.ifSound()
	vs := m.views()
	m.share(len(vs), func(e *evaluator, i int) {
		v := &vs[i]
		if v.word == nil {
			v.normal = sound(&v.observation)
		}
		var left []float64
		if v.taken {
			left = m.without(v, ps, e)
			v.evidence = Evidence{Reading: v.key}
			if v.word != nil {
				v.evidence.Reading = v.word.key
			}
			m.weights(&v.evidence, ps, left, leader, runner)
		}
		if v.ranges {
			v.expect = m.predictive(&v.observation, ps, left, -1)
			v.shown = m.showings(&v.observation, ps, left, ids, hyps)
		}
	})
	for i := range vs {
		v := &vs[i]
		if v.word == nil {
			r.Normal[v.key] = v.normal
			if v.ranges {
				r.Expect[v.key], r.Shown[v.key] = v.expect, v.shown
			}
			v.evidence.HasRange, v.evidence.Expected, v.evidence.Sound = true, v.expect, v.normal
		}
		if v.taken && !v.evidence.Reading.Context() {
			r.Evidence = append(r.Evidence, v.evidence)
		}
	}
	slices.SortStableFunc(r.Evidence, func(a, b Evidence) int {
		return -compare(strength(a), strength(b))
	})
}

// without gives the weights of the posterior without one reading: its
// likelihood divided out.
func (m *model) without(v *view, ps []particle, e *evaluator) []float64 {
	left := make([]float64, len(ps))
	for i := range ps {
		p := &ps[i]
		if v.word != nil {
			e.p = m.chances(v.word, &m.hyps[p.hyp], &p.out, e.p)
			left[i] = p.weight / e.p[v.word.choice]
			continue
		}
		d, _ := m.likelihood(&v.observation, &p.z, &p.out)
		left[i] = p.weight / d
	}
	return left
}

// circumstance reports whether k says how a visit finds the site, whatever is wrong with
// it: light, warmth, and how full the battery is.
func circumstance(k reading.Key) bool {
	return k.Context() || k == reading.RestV || k == reading.BlockV || k == reading.Gravity
}

// chargeReadings tell how full the battery is, whatever is wrong.
var chargeReadings = []reading.Key{reading.RestV, reading.BlockV, reading.Gravity}

// ifSound gives the range that an observation would show at a sound plant in
// the circumstances of the visit. The other readings do not enter: they may
// show the very fault. A reading of the charge is judged by the circumstances without it.
func (m *model) ifSound() func(o *observation) Range {
	all := m.soundWithout("")
	without := map[reading.Key]func(o *observation) Range{}
	for _, k := range chargeReadings {
		if m.set.Has(k) {
			without[k] = m.soundWithout(k)
		}
	}
	return func(o *observation) Range {
		if alone, ok := without[o.key]; ok {
			return alone(o)
		}
		return all(o)
	}
}

// soundWithout is ifSound of circumstances that leave one reading out; "" leaves out none.
func (m *model) soundWithout(out reading.Key) func(o *observation) Range {
	set := m.set.Clone()
	leave := func(k reading.Key) bool { return !circumstance(k) || k == out }
	maps.DeleteFunc(set.Numbers, func(k reading.Key, _ float64) bool { return leave(k) })
	maps.DeleteFunc(set.Lists, func(k reading.Key, _ []float64) bool { return leave(k) })
	maps.DeleteFunc(set.Words, func(k reading.Key, _ string) bool { return leave(k) })
	clear(set.Several)
	c := newModel(Input{Site: m.site, Readings: set})
	c.hyps, c.fineness = c.hyps[:1], 0.25
	ps, _ := c.cloud(c.modes())
	return func(o *observation) Range {
		left := make([]float64, len(ps))
		for i := range ps {
			p := &ps[i]
			left[i] = p.weight
			if circumstance(o.key) && set.Has(o.key) { // without the reading itself
				d, _ := c.likelihood(o, &p.z, &p.out)
				left[i] /= d
			}
		}
		return c.predictive(o, ps, left, -1)
	}
}

func strength(e Evidence) float64 { return math.Abs(e.ForLeader) + math.Abs(e.AgainstSound) }

// contenders are the two most probable hypotheses.
func (m *model) contenders(ps []particle) (leader, runner int) {
	p := make([]float64, len(m.hyps))
	for i := range ps {
		p[ps[i].hyp] += ps[i].weight
	}
	leader, runner = -1, -1
	for k, x := range p {
		switch {
		case leader < 0 || x > p[leader]:
			leader, runner = k, leader
		case runner < 0 || x > p[runner]:
			runner = k
		}
	}
	return leader, runner
}

// weights of one reading: how its being as it is changes the odds.
func (m *model) weights(ev *Evidence, ps []particle, left []float64, leader, runner int) {
	support := func(h int) float64 { // log10 of p(reading | h, the others)
		var with, without float64
		for i := range ps {
			if ps[i].hyp == h {
				with += ps[i].weight
				without += left[i]
			}
		}
		if with <= 0 || without <= 0 {
			return math.Inf(-1)
		}
		return math.Log10(with / without)
	}
	bound := func(x float64) float64 {
		if math.IsNaN(x) {
			return 0
		}
		return min(max(x, -6), 6)
	}
	l := support(leader)
	ev.ForLeader = bound(l - support(runner))
	if leader != 0 {
		ev.AgainstSound = bound(l - support(0))
	}
}

// rangeDraws stand for a distribution when its range is reckoned.
const rangeDraws = 250

// predictive is the range of a reading under the weights, or the
// particles' own where weights is nil, and under one hypothesis or all (−1).
func (m *model) predictive(o *observation, ps []particle, weights []float64, hyp int) Range {
	weight := func(i int) float64 {
		switch {
		case hyp >= 0 && ps[i].hyp != hyp:
			return 0
		case weights != nil:
			return weights[i]
		}
		return ps[i].weight
	}
	var total, sum float64
	for i := range ps {
		total += weight(i)
	}
	if !(total > 0) {
		return Range{Lo: math.NaN(), Hi: math.NaN()}
	}
	shown := make([]float64, 0, 5*rangeDraws)
	next := 0.5
	for i := range ps {
		sum += weight(i) / total * rangeDraws
		for ; next < sum && len(shown) < 5*rangeDraws; next++ {
			v, sd := m.predict(o, &ps[i].z, &ps[i].out), m.spread(o, &ps[i].out)
			for _, q := range [...]float64{-1.4, -0.53, 0, 0.53, 1.4} { // fifths of the reading's own spread
				shown = append(shown, v+q*sd)
			}
		}
	}
	return densest(shown)
}
