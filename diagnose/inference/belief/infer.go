package belief

import (
	"errors"
	"math"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
)

// ErrNoSite reports an input without a site.
var ErrNoSite = errors.New("no site to reason about")

// defaultMinutes of rest, where the reading was not noted [min].
const defaultMinutes = 60

// GCPercent is a pace of garbage collection, for debug.SetGCPercent, that suits a
// program that infers: an answer leaves some 20 MB behind and keeps 2, and by the usual
// pace, from a heap of 4 MB on, that is collected eight times an answer.
const GCPercent = 400

// Infer weighs every applicable condition against the readings. The same input
// gives the same result on every run; the order in which readings were taken
// does not enter.
func Infer(in Input) (*Result, error) {
	if in.Site == nil {
		return nil, ErrNoSite
	}
	return newModel(in).infer(), nil
}

func (m *model) infer() *Result {
	ps, lnEvidence := m.cloud(m.modes())
	return m.result(ps, m.unseen(ps, lnEvidence))
}

// modes finds the most probable points of all hypotheses.
func (m *model) modes() []*mode {
	found := m.search()
	m.exchange(found)
	found = m.pairs(found)
	return slices.Concat(found...)
}

// share spreads n independent pieces of work over the processors; each writes
// only its own result, so that their order does not matter.
func (m *model) share(n int, work func(e *evaluator, k int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			e := &evaluator{m: m}
			defer func() { m.solved.Add(e.solved) }()
			for {
				k := int(next.Add(1)) - 1
				if k >= n {
					return
				}
				work(e, k)
			}
		})
	}
	wg.Wait()
}

func newModel(in Input) *model {
	set := in.Readings
	if set == nil {
		set = reading.NewSet()
	}
	minutes, ok := set.Numbers[reading.Minutes]
	if !ok {
		minutes = defaultMinutes
	}
	in.Site = withCutDoubt(in.Site)
	m := &model{
		site:    in.Site,
		plant:   plant.New(in.Site, minutes),
		set:     set,
		hyps:    hypotheses(in.Site, set.TakenAt, set.Words[reading.Visit]),
		scale12: in.Site.NominalV / 12,
		arrayW:  in.Site.Array.Module.PmpW * float64(in.Site.Array.Series*in.Site.Array.Strings),
		stepA:   in.Site.Battery.CapacityAh / 15,
		stepS:   stepKnown,

		seed:     firstSeed,
		fineness: 1,
	}
	// There is one rest: how much is left when it begins and how soon it goes are one spread.
	m.surface = math.Hypot(surfaceSpread, decaySpread*minutes/decayMinutes)
	m.parts = spreadsOf(in.Site, set.LoadsOn)
	m.light, m.clear = lightPrior(in.Site, set)
	m.bend = chargeBend(in.Site, set)
	m.readSite()
	// The current of a load step is what the person chose, and is read before the
	// voltage: what that would teach is reckoned with a current that is known.
	if v, ok := set.Numbers[reading.StepA]; ok && v > 0 {
		m.stepA = v
	} else if set.Has(reading.StepPostV) {
		m.stepS = stepUnknown
	}
	m.observe()
	m.open = m.bearsOn(m.observes)
	m.group()
	return m
}

// result gathers the posterior's answers.
func (m *model) result(ps []particle, lnEvidence []float64) *Result {
	r := &Result{Expect: map[reading.Key]Range{}, Normal: map[reading.Key]Range{}, Shown: map[reading.Key][]Showing{}}
	r.Conditions = m.posteriors(lnEvidence)
	r.State = m.state(ps, r.Of(condition.Sound))
	r.Suspects = m.suspects(ps)
	r.Gains = m.gains(ps)
	m.explain(ps, r)
	if r.State.Daylight > 0.5 {
		r.Array = m.curve(ps)
	}
	return r
}

// modelDoubt is the probability that the readings say nothing of this plant as
// it is modelled (another site's file, labels exchanged, a fault not in the
// catalogue); what was known before then stands (judgement).
const modelDoubt = 0.01

func (m *model) posteriors(lnEvidence []float64) []Posterior {
	byHyp := make([]float64, len(m.hyps))
	top := slices.Max(lnEvidence)
	var sum float64
	for k, ln := range lnEvidence {
		byHyp[k] = math.Exp(ln - top)
		sum += byHyp[k]
	}
	for k := range byHyp {
		byHyp[k] = (1-modelDoubt)*byHyp[k]/sum + modelDoubt*math.Exp(m.hyps[k].lnPrior)
	}
	var list []Posterior
	for _, c := range condition.Applicable(m.site) {
		p := Posterior{ID: c.ID, With: []condition.ID{}}
		for k := range m.hyps {
			h := &m.hyps[k]
			if !h.has(c.ID) {
				continue
			}
			p.P += byHyp[k]
			if len(h.ids) == 2 && byHyp[k] > companionFrom {
				other := h.ids[0]
				if other == c.ID {
					other = h.ids[1]
				}
				p.With = append(p.With, other)
			}
		}
		list = append(list, p)
	}
	slices.SortStableFunc(list, func(a, b Posterior) int {
		if d := -compare(a.P, b.P); d != 0 {
			return d
		}
		return strings.Compare(string(a.ID), string(b.ID))
	})
	return list
}

// companionFrom is the probability of a pair from which it is named.
const companionFrom = 0.05

func (m *model) state(ps []particle, sound float64) State {
	s := State{AsDesigned: sound}
	flag := func(p *float64, b bool, w float64) {
		if b {
			*p += w
		}
	}
	var charge, spare, hours []weighted
	var u plant.Unknowns
	for i := range ps {
		p := &ps[i]
		w := p.weight
		flag(&s.Daylight, p.out.Daylight, w)
		flag(&s.Bright, m.lightAt(p.z[dLight]) >= BrightFrom, w)
		flag(&s.Charging, p.out.Charging, w)
		flag(&s.Regulating, p.out.Regulating, w)
		flag(&s.LoadsCut, p.out.LoadsCut, w)
		if w < 1e-7 {
			continue
		}
		m.unknowns(&p.z, &m.hyps[p.hyp], &u)
		m.discharge(&u, i)
		charge = append(charge, weighted{u.SoC, w})
		spare = append(spare, weighted{p.out.SpareW, w})
		hours = append(hours, weighted{m.plant.HoursToCut(&u, &p.out), w})
	}
	for _, p := range []*float64{&s.Daylight, &s.Bright, &s.Charging, &s.Regulating, &s.LoadsCut} {
		*p = min(*p, 1) // rounding
	}
	s.ChargeLevel, s.SpareW, s.HoursToCut = interval(charge), interval(spare), interval(hours)
	return s
}

type weighted struct{ x, w float64 }

// interval is the mean and the 5 % and 95 % points of xs, which it sorts.
func interval(xs []weighted) Interval {
	if len(xs) == 0 {
		return Interval{math.NaN(), math.NaN(), math.NaN()}
	}
	slices.SortFunc(xs, func(a, b weighted) int { return compare(a.x, b.x) })
	var total, mean float64
	for _, x := range xs {
		total += x.w
		mean += x.x * x.w
	}
	mean /= total
	at := func(p float64) float64 {
		var s float64
		for _, x := range xs {
			if s += x.w; s >= p*total {
				return x.x
			}
		}
		return xs[len(xs)-1].x
	}
	return Interval{Mean: mean, P05: at(0.05), P95: at(0.95)}
}

// zeroMatters is the shift from which an unset zero makes a clamp's readings
// suspect, times the instrument's own offset limit.
const zeroMatters = 2

// suspects is the probability of each reading to be simply wrong.
func (m *model) suspects(ps []particle) []Suspect {
	bad := make([]float64, len(m.obs))
	for i := range ps {
		p := &ps[i]
		if p.weight < 1e-7 {
			continue
		}
		for k := range m.obs {
			o := &m.obs[k]
			_, rightly := m.likelihood(o, &p.z, &p.out)
			wrong := 1 - rightly
			if o.zero && unzeroed(&p.z) {
				if shift := math.Abs(unzeroedA * p.z[dClampZero]); shift > zeroMatters*o.instrument.Limit(0) {
					wrong = 1
				}
			}
			bad[k] += p.weight * wrong
		}
	}
	byKey := map[reading.Key]float64{}
	var list []Suspect
	for k, o := range m.obs {
		if _, ok := byKey[o.key]; !ok {
			list = append(list, Suspect{Reading: o.key})
		}
		byKey[o.key] = max(byKey[o.key], bad[k])
	}
	for i := range list {
		list[i].P = min(1, byKey[list[i].Reading])
	}
	slices.SortStableFunc(list, func(a, b Suspect) int { return -compare(a.P, b.P) })
	return list
}
