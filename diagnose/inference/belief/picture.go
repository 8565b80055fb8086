package belief

import (
	"slices"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
)

// A Showing is what a reading would show if one condition alone were there, by
// all other readings.
type Showing struct {
	ID    condition.ID
	Range Range
}

// A Curve is the array's current-voltage curve at the controller's terminals as
// it would be now with nothing wrong, and where the array works at present.
// Both are means under the leading condition.
type Curve struct {
	Volts, Amps  []float64
	BestV, BestA float64 // the point of the most power on the curve
	AtV, AtA     float64 // the present operating point
}

// How much of the belief is pictured (choices of this project).
const (
	maxShowings = 4
	showingFrom = 0.01 // probability of a condition
	showingMass = 1e-6 // of a hypothesis among the particles
	curvePoints = 49
	curveDraws  = 40
	curveBeyond = 1.04 // times the highest open-circuit voltage
	curveFromA  = 0.02 // least current worth a picture [A]
)

// alone are the hypotheses of the leading conditions, each by itself.
func (m *model) alone(ps []particle, leading []Posterior) (ids []condition.ID, hyps []int) {
	mass := make([]float64, len(m.hyps))
	for i := range ps {
		mass[ps[i].hyp] += ps[i].weight
	}
	for _, c := range leading {
		if len(ids) == maxShowings || c.P < showingFrom {
			break
		}
		k := slices.IndexFunc(m.hyps, func(h hypothesis) bool { return len(h.ids) < 2 && h.has(c.ID) })
		if k >= 0 && mass[k] > showingMass {
			ids, hyps = append(ids, c.ID), append(hyps, k)
		}
	}
	return ids, hyps
}

// showings are the ranges of one reading under each of the hypotheses.
func (m *model) showings(o *observation, ps []particle, weights []float64, ids []condition.ID, hyps []int) []Showing {
	var list []Showing
	for i, id := range ids {
		if r := m.predictive(o, ps, weights, hyps[i]); r.Known() {
			list = append(list, Showing{id, r})
		}
	}
	return list
}

// curve is the array's curve with the faults taken away, nil where there is no
// light to speak of.
func (m *model) curve(ps []particle) *Curve {
	leader, _ := m.contenders(ps)
	us, outs := m.drawn(ps, leader, curveDraws)
	top := 0.0
	for i := range us {
		us[i].Fault = plant.Fault{}
		top = max(top, m.plant.ArrayOpenV(&us[i]))
	}
	c := &Curve{Volts: make([]float64, curvePoints), Amps: make([]float64, curvePoints)}
	for k := range c.Volts {
		c.Volts[k] = curveBeyond * top * float64(k) / (curvePoints - 1)
	}
	n := float64(len(us))
	amps := make([]float64, curvePoints)
	for i := range us {
		m.plant.ArrayCurve(&us[i], c.Volts, amps)
		for k, a := range amps {
			c.Amps[k] += max(0, a) / n
		}
		c.AtV += outs[i].Value[plant.ArrayV] / n
		c.AtA += outs[i].Value[plant.ArrayA] / n
	}
	for k, v := range c.Volts {
		if v*c.Amps[k] > c.BestV*c.BestA {
			c.BestV, c.BestA = v, c.Amps[k]
		}
	}
	if !(c.BestA >= curveFromA) {
		return nil
	}
	return c
}

// drawn are n unknowns of one hypothesis, by their weights at even steps, with
// what the plant shows.
func (m *model) drawn(ps []particle, hyp, n int) (us []plant.Unknowns, outs []*plant.Out) {
	var total, sum float64
	for i := range ps {
		if ps[i].hyp == hyp {
			total += ps[i].weight
		}
	}
	next := 0.5
	for i := range ps {
		p := &ps[i]
		if p.hyp != hyp {
			continue
		}
		for sum += p.weight / total * float64(n); next < sum && len(us) < n; next++ {
			var u plant.Unknowns
			m.unknowns(&p.z, &m.hyps[hyp], &u)
			us, outs = append(us, u), append(outs, &p.out)
		}
	}
	return us, outs
}
