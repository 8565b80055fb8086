package belief

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/site"
)

// A Draw is one plant of the posterior, with what is wrong with it.
type Draw struct {
	plant.Unknowns
	Conditions []condition.ID // empty: nothing is wrong
}

// Draws are n plants of the posterior that [Infer] weighs, each as likely as any other.
// They are for what has to be worked out plant by plant, as what lies ahead has. They are
// made anew, which takes somewhat less time than Infer; the same input gives the same
// draws.
func Draws(in Input, n int) ([]Draw, error) {
	if in.Site == nil {
		return nil, ErrNoSite
	}
	m := newModel(in)
	ps, _ := m.cloud(m.modes())
	return m.plants(ps, n), nil
}

// plants are n draws at even steps of the particles' weights.
func (m *model) plants(ps []particle, n int) []Draw {
	list := make([]Draw, 0, n)
	var total, sum float64
	for i := range ps {
		total += ps[i].weight
	}
	next := 0.5
	for i := range ps {
		p := &ps[i]
		for sum += p.weight / total * float64(n); next < sum && len(list) < n; next++ {
			d := Draw{Conditions: m.hyps[p.hyp].ids}
			m.unknowns(&p.z, &m.hyps[p.hyp], &d.Unknowns)
			m.discharge(&d.Unknowns, len(list))
			list = append(list, d)
		}
	}
	return list
}

// What a battery holds and what a quick discharge costs show in no reading of a visit,
// only in the hours that it lasts.
const (
	// Of batteries in use that are not worn out 0.7 to 1.25 of the label: two new VRLA
	// blocks gave 0.92 and 1.16 (references); at 0.8 a battery is called due for renewal
	// (IEC 60896; from memory).
	capacitySpread = 0.17
	// Peukert's exponent of the trade (common practice). It holds what the lower voltage
	// under a large current costs too, which the plant reckons by itself: what is left is
	// between nothing, as a 17 Ah VRLA showed, and all of it.
	peukertFlooded = 1.2
	peukertSealed  = 1.12
	peukertLFP     = 1.03
)

// discharge gives u what no reading bears on, from its prior: the k-th draw of it. The
// draws are those of a Kronecker sequence, so that few of them are spread as many are
// (Niederreiter, Random Number Generation and Quasi-Monte Carlo Methods, 1992, ch. 3; its
// steps are the powers of the root of x³ = x + 1; from memory).
func (m *model) discharge(u *plant.Unknowns, k int) {
	const first, second = 0.7548776662466927, 0.5698402909980532
	even := func(step float64) float64 {
		_, x := math.Modf(0.5 + step*float64(k+1))
		return x
	}
	most := peukertSealed
	switch m.site.Battery.Chemistry {
	case site.LFP:
		most = peukertLFP
	case site.Flooded:
		most = peukertFlooded
	}
	u.Capacity *= fastmath.Exp(capacitySpread * math.Sqrt2 * math.Erfinv(2*even(first)-1))
	u.Peukert = 1 + (most-1)*even(second)
}
