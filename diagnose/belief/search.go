package belief

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ampwalk/diagnose/condition"
	"ampwalk/diagnose/plant"
	"ampwalk/diagnose/reading"
	"ampwalk/diagnose/site"
)

// A span is a part of a choice coordinate's 0 to 1.
type span struct{ lo, hi float64 }

var whole = span{0, 1}

func (s span) width() float64 { return s.hi - s.lo }
func (s span) mid() float64   { return (s.lo + s.hi) / 2 }

// A mode is a most probable point of one hypothesis with the curvature there.
type mode struct {
	hyp     int
	z       [dims]float64
	choices [dims - firstChoice]span
	active  []int         // coordinates that the readings bear on
	prec    *mat.SymDense // precision matrix over active, the prior's 1 included
	shapes  []shape       // its densities, once it is drawn from
	lnDet   float64       // of prec
	lnZ     float64       // evidence by Laplace's approximation, prior of the hypothesis included
	cost    float64       // minus the log of likelihood and prior density at z
}

// An evaluator solves the plant at coordinates under a hypothesis.
type evaluator struct {
	m   *model
	u   plant.Unknowns
	out plant.Out
	p   []float64
}

func (e *evaluator) solve(z *[dims]float64, h *hypothesis) {
	e.m.unknowns(z, h, &e.u)
	e.m.plant.Solve(&e.u, &e.out)
}

// logWords is the log-likelihood of the words at the last solution.
func (e *evaluator) logWords(h *hypothesis) float64 {
	var s float64
	for i := range e.m.words {
		w := &e.m.words[i]
		e.p = e.m.chances(w, h, &e.out, e.p)
		s += math.Log(e.p[w.choice])
	}
	return s
}

// A widening eases a search: every spread is widened by temper times the
// reading's span, and one clamp, if any, is supposed to be turned round.
type widening struct {
	temper float64
	turned int // index of an observation, −1: none
}

// none is the likelihood as it is.
var none = widening{turned: -1}

// shown is the value that observation i is taken to show.
func (w widening) shown(i int, o *observation) float64 {
	if i == w.turned {
		return -o.y
	}
	return o.y
}

// logNumbers is the log-likelihood of the numbers at the last solution.
func (e *evaluator) logNumbers(z *[dims]float64, w widening) float64 {
	var s float64
	product := 1.0
	for i := range e.m.obs {
		o := &e.m.obs[i]
		p, _, _ := e.m.likelihood(o, w.shown(i, o), z, &e.out, w.temper*o.span)
		if product *= p; product < 1e-200 || product > 1e200 {
			s += math.Log(product)
			product = 1
		}
	}
	s += math.Log(product)
	if w.turned >= 0 {
		s += math.Log(turnChance)
	}
	return s
}

func (e *evaluator) cost(z *[dims]float64, h *hypothesis, w widening) float64 {
	e.solve(z, h)
	return e.costHere(z, h, w)
}

// costHere is the cost at the last solution.
func (e *evaluator) costHere(z *[dims]float64, h *hypothesis, w widening) float64 {
	c := -e.logNumbers(z, w) - e.logWords(h)
	for _, x := range z[:firstChoice] {
		c += 0.5 * x * x
	}
	return c
}

// active lists the coordinates that the readings taken bear on under h.
func (m *model) active(h *hypothesis, zeroed bool) []int {
	has := func(ks ...plant.Index) bool {
		return slices.ContainsFunc(m.obs, func(o observation) bool { return slices.Contains(ks, o.index) })
	}
	meter := func(k reading.Meter) bool {
		return slices.ContainsFunc(m.obs, func(o observation) bool { return o.offset >= 0 && o.offset == meters[k].offset })
	}
	rest := has(plant.RestV, plant.BlockLow, plant.BlockRest, plant.StepPostV)
	mppt := m.site.Controller.Kind == site.MPPT
	skip := map[int]bool{
		dLightIsolated: !has(plant.OpenV, plant.ShortA, plant.Irradiance2, plant.ModuleC2),
		dCellIsolated:  !has(plant.OpenV, plant.ShortA, plant.ModuleC2),
		dStep:          !has(plant.StepA, plant.StepPostV),
		dOneMinute:     !has(plant.StepPostV),
		dSurface:       !rest,
		dGravity:       !has(plant.GravityLow),
		dEfficiency:    !mppt,
		dGas:           !m.site.Battery.Chemistry.LeadAcid(),
		dRestMix:       !m.site.Battery.Chemistry.LeadAcid(),
		dSeverity:      len(h.ids) == 0,
		dSeverity2:     len(h.ids) == 0 || h.ids[0] != condition.BatteryWorn,
		dOther:         len(h.ids) < 2,
		dOther2:        len(h.ids) < 2 || h.ids[1] != condition.BatteryWorn,
		dVoltGain:      !meter(reading.Voltmeter),
		dVoltOffset:    !meter(reading.Voltmeter),
		dClampGain:     !meter(reading.Clamp),
		dClampOffset:   !meter(reading.Clamp),
		dClampZero:     zeroed,
		dLightGain:     !meter(reading.Light),
		dLightOffset:   !meter(reading.Light),
		dThermometer:   !meter(reading.Thermometer),
		dHydrometer:    !meter(reading.Hydrometer),
	}
	var a []int
	for d := range firstChoice {
		if !skip[d] {
			a = append(a, d)
		}
	}
	return a
}

// instrumental reports whether a coordinate acts on what an instrument shows
// and not on the plant.
func instrumental(d int) bool { return d >= dVoltGain && d < firstChoice }

// afterwards reports whether a coordinate acts only on tests made after the
// readings as found.
func afterwards(d int) bool {
	switch d {
	case dLightIsolated, dCellIsolated, dStep, dGravity, dOneMinute, dSurface:
		return true
	}
	return false
}

// search finds the most probable points of hypothesis k, all clamps zeroed.
func (m *model) search(k int, e *evaluator) []*mode {
	var modes []*mode
	best := math.Inf(1)
	for _, s := range m.starts(&m.hyps[k], e) {
		md := m.climb(k, s.z, s.choices, s.turned, best+hopeless, e)
		if md != nil && !slices.ContainsFunc(modes, md.same) {
			best = min(best, md.cost)
			modes = append(modes, md)
		}
	}
	slices.SortStableFunc(modes, func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
	return modes
}

// hopeless is how far above the best mode's cost a climb is given up [nat].
const hopeless = 30

// searchUnzeroed goes on from a mode with the clamp's zero not set, which
// shifts all its readings alike.
func (m *model) searchUnzeroed(from *mode, e *evaluator) []*mode {
	var modes []*mode
	for _, sign := range []float64{1, -1} {
		z, c := from.z, from.choices
		c[dUnzeroed-firstChoice] = span{1 - unzeroedShare, 1}
		z[dUnzeroed], z[dClampZero] = c[dUnzeroed-firstChoice].mid(), 0.8*sign
		if md := m.climb(from.hyp, z, c, -1, math.Inf(1), e); md != nil && !slices.ContainsFunc(modes, md.same) {
			modes = append(modes, md)
		}
	}
	return modes
}

// clampTrusted reports whether no clamp reading can suffer from a missing zero.
func (m *model) clampTrusted() bool {
	return !slices.ContainsFunc(m.obs, func(o observation) bool { return o.zero })
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// same reports whether two modes are one.
func (a *mode) same(b *mode) bool {
	if a.choices != b.choices {
		return false
	}
	for d := range firstChoice {
		if math.Abs(a.z[d]-b.z[d]) > 0.25 {
			return false
		}
	}
	return true
}

// A start is where a search begins.
type start struct {
	z       [dims]float64
	choices [dims - firstChoice]span
	cost    float64
	turned  int // a clamp supposed to be turned round, −1: none
	regime  regime
}

// A regime is what divides starts: within one a search finds its own way.
type regime struct {
	regulating, charging, loadsCut bool
	option, other                  span
	turned                         int
	start                          finer
}

// finer divides starts of one regime.
type finer struct {
	stage span // where it matters
	light float64
}

const (
	startsKept   = 4  // regimes
	startsFiner  = 2  // and starts that divide them further
	startsWithin = 25 // nats of the best
)

// setPointDoubt is how far below the lowest set-point it may still matter, a
// set-point that is too low included [V at 12 V].
const setPointDoubt = 1.8

// turnedFrom is the current from which a clamp's direction matters [A].
const turnedFrom = 0.1

// startTemper widens all readings so far that every regime is in reach.
const startTemper = 0.06

// starts tries a grid over what divides the regimes and keeps the best few.
func (m *model) starts(h *hypothesis, e *evaluator) []start {
	var base [dims]float64
	for d := firstChoice; d < dims; d++ {
		base[d] = 0.5
	}
	m.guess(&base)
	lights := []float64{base[dLight]}
	switch {
	case !m.set.Has(reading.Irradiance) && !m.set.Has(reading.Irradiance2):
		lights = []float64{m.lightZ(0.003), m.lightZ(0.1), m.lightZ(2), m.lightZ(120), 0.4}
	case m.lightAt(base[dLight]) < 15: // a light meter says little in the dark
		lights = []float64{m.lightZ(0.003), m.lightZ(0.1), m.lightZ(2), base[dLight]}
	}
	stages := []span{{0, 1 - floatShare}, {1 - floatShare, 1}}
	if m.site.Controller.FloatV == m.site.Controller.AbsorbV {
		stages = []span{whole}
	}
	latches := []span{{0, 1 - latchShare}, {1 - latchShare, 1}}
	if !m.site.Controller.LoadOutput {
		latches = []span{whole}
	}
	severities := []float64{0}
	if len(h.ids) > 0 {
		severities = []float64{-1, 1}
	}
	options := [2][]span{{whole}, {whole}}
	for k := range h.ids {
		options[k] = nil
		lo := 0.0
		for _, hi := range h.options[k] {
			options[k] = append(options[k], span{lo, hi})
			lo = hi
		}
	}
	others := []float64{0}
	if len(h.ids) == 2 {
		others = severities
	}
	turned := []int{-1}
	for i := range m.obs {
		if o := &m.obs[i]; o.flips && math.Abs(o.y) > turnedFrom {
			turned = append(turned, i)
		}
	}
	var all []start
	try := func(z [dims]float64, c [dims - firstChoice]span) {
		for i, s := range c {
			z[firstChoice+i] = s.mid()
		}
		e.solve(&z, h)
		for _, t := range turned {
			r := regime{
				regulating: e.out.Regulating, charging: e.out.Charging, loadsCut: e.out.LoadsCut,
				option: c[dOption-firstChoice], other: c[dOtherOption-firstChoice], turned: t,
				start: finer{light: z[dLight]},
			}
			if r.regulating {
				r.start.stage = c[dStage-firstChoice]
			}
			all = append(all, start{z, c, e.costHere(&z, h, widening{startTemper / 3, t}), t, r})
		}
	}
	zeroed := span{0, 1 - unzeroedShare}
	sp := min(m.plant.SetPoint(true, airMean), m.plant.SetPoint(false, airMean)) - setPointDoubt*m.scale12
	for _, l := range lights {
		for _, soc := range []float64{-1.2, -0.2, 0.6, 1.2, 1.8, 2.6} {
			for _, o := range options[0] {
				for _, o2 := range options[1] {
					for _, sev := range severities {
						for _, oth := range others {
							z := base
							z[dLight], z[dCharge], z[dSeverity], z[dOther] = l, soc, sev, oth
							// A choice that is not in play stays open.
							try(z, [dims - firstChoice]span{whole, whole, zeroed, o, o2})
							staged := len(stages) > 1 && e.out.BusV >= sp
							latched := len(latches) > 1 && (e.out.LoadsCut || e.out.BusV < m.site.Controller.RestoreV)
							if !staged && !latched {
								continue
							}
							all = all[:len(all)-len(turned)]
							for _, st := range stages {
								if !staged {
									st = whole
								}
								for _, la := range latches {
									if !latched {
										la = whole
									}
									try(z, [dims - firstChoice]span{st, la, zeroed, o, o2})
									if !latched {
										break
									}
								}
								if !staged {
									break
								}
							}
						}
					}
				}
			}
		}
	}
	slices.SortStableFunc(all, func(a, b start) int { return compare(a.cost, b.cost) })
	// First the best of every regime, then of what divides them further.
	var kept []start
	keep := func(most int, as func(a, b regime) bool) {
		for _, s := range all {
			if len(kept) == most || s.cost > all[0].cost+startsWithin {
				return
			}
			if !slices.ContainsFunc(kept, func(k start) bool { return as(k.regime, s.regime) }) {
				kept = append(kept, s)
			}
		}
	}
	keep(startsKept, func(a, b regime) bool { a.start = b.start; return a == b })
	keep(startsKept+startsFiner, func(a, b regime) bool { return a == b })
	return kept
}

// guess sets what readings say directly.
func (m *model) guess(z *[dims]float64) {
	num := func(k reading.Key) (float64, bool) { v, ok := m.set.Numbers[k]; return v, ok }
	if v, ok := num(reading.AirC); ok {
		z[dAir] = clip((v - airMean) / airSpread)
	}
	if v, ok := num(reading.Irradiance); ok {
		z[dLight] = m.lightZ(v)
	} else if v, ok := num(reading.Irradiance2); ok {
		z[dLight] = m.lightZ(v)
	}
	g := m.lightAt(z[dLight])
	air := airMean + airSpread*z[dAir]
	if v, ok := num(reading.ModuleC); ok {
		z[dCell] = clip((v - air - (m.site.Array.Module.NOCTC-20)/800*g) / cellSpread)
	}
	if v, ok := num(reading.BatteryC); ok {
		z[dBatteryC] = clip((v - air + batteryBelowAir) / batterySpread)
	}
}

func clip(z float64) float64 { return min(max(z, -2.5), 2.5) }

// climb finds a mode from a start by damped Gauss–Newton steps, the spreads of
// all readings widened at first and narrowed to their own.
func (m *model) climb(k int, z [dims]float64, choices [dims - firstChoice]span, turned int, giveUp float64, e *evaluator) *mode {
	h := &m.hyps[k]
	zeroed := choices[dUnzeroed-firstChoice].lo < 1-unzeroedShare
	active := m.active(h, zeroed)
	n := len(active)
	g := &tangent{m: m, h: h, e: e, active: active, n: n,
		prec: mat.NewSymDense(n, nil), grad: mat.NewVecDense(n, nil), jac: make([]float64, n*len(m.obs))}
	var chol mat.Cholesky
	step := mat.NewVecDense(n, nil)
	damped := mat.NewSymDense(n, nil)
	for _, t := range []struct {
		temper float64
		steps  int
	}{{startTemper / 9, 3}, {startTemper / 27, 3}, {startTemper / 81, 2}, {0, 8}} {
		w := widening{t.temper, turned}
		if t.temper == 0 {
			w = none
		}
		cost := e.cost(&z, h, w)
		if t.temper < startTemper/9 && cost > giveUp {
			return nil
		}
		lambda := 0.0
		for range t.steps {
			g.linearise(&z, w)
			moved := false
			for range 5 {
				damped.CopySym(g.prec)
				for i := range n {
					damped.SetSym(i, i, damped.At(i, i)*(1+lambda))
				}
				if !chol.Factorize(damped) {
					lambda = 10*lambda + 1e-3
					continue
				}
				if err := chol.SolveVecTo(step, g.grad); err != nil {
					lambda = 10*lambda + 1e-3
					continue
				}
				next := z
				for i, d := range active {
					next[d] = min(max(z[d]-min(max(step.AtVec(i), -1.5), 1.5), -4.5), 4.5)
				}
				c := e.cost(&next, h, w)
				if c < cost {
					moved = cost-c > 1e-3
					z, cost = next, c
					lambda /= 10
					break
				}
				lambda = 10*lambda + 1e-2
			}
			if !moved {
				break
			}
		}
	}
	md := &mode{hyp: k, z: z, choices: choices, active: active}
	md.cost = e.cost(&z, h, none)
	if math.IsNaN(md.cost) || math.IsInf(md.cost, 0) {
		return nil
	}
	g.linearise(&z, none)
	md.prec = g.prec
	if !chol.Factorize(g.prec) {
		return nil
	}
	md.lnDet = chol.LogDet()
	md.lnZ = h.lnPrior - md.cost - 0.5*md.lnDet
	for _, s := range choices {
		md.lnZ += math.Log(s.width())
	}
	return md
}

// tangent is the linearised problem at one point.
type tangent struct {
	m      *model
	h      *hypothesis
	e      *evaluator
	active []int
	n      int
	prec   *mat.SymDense
	grad   *mat.VecDense
	jac    []float64 // one row an observation
	base   []float64
	weight []float64 // of each reading, by how likely it is right
	pull   []float64 // and how far it pulls its prediction
}

// linearise works out gradient and precision at z: numeric slopes of every
// prediction, weighed by how likely each reading is right.
func (g *tangent) linearise(z *[dims]float64, w widening) {
	const h = 2e-3
	m, e, n := g.m, g.e, g.n
	e.solve(z, g.h)
	g.base, g.weight, g.pull = g.base[:0], g.weight[:0], g.pull[:0]
	here := e.out
	for i := range m.obs {
		o := &m.obs[i]
		p := m.predict(o, z, &here)
		y := w.shown(i, o)
		sd := math.Hypot(m.spread(o, &here), w.temper*o.span)
		_, right, turned := m.likelihood(o, y, z, &here, w.temper*o.span)
		g.base = append(g.base, p)
		g.weight = append(g.weight, (right+turned)/(sd*sd))
		// What a clamp that is likely turned round shows counts the other way.
		g.pull = append(g.pull, (right*(y-p)-turned*(y+p))/(sd*sd))
	}
	for j, d := range g.active {
		moved := *z
		step := h
		if z[d] > 0 { // toward the middle, where the maps are steep
			step = -h
		}
		moved[d] += step
		out := &here
		switch {
		case instrumental(d):
		case afterwards(d):
			e.out = here
			m.unknowns(&moved, g.h, &e.u)
			m.plant.SolveTests(&e.u, &e.out)
			out = &e.out
		default:
			e.solve(&moved, g.h)
			out = &e.out
		}
		for i := range m.obs {
			g.jac[i*n+j] = (m.predict(&m.obs[i], &moved, out) - g.base[i]) / step
		}
	}
	for a := range n {
		s := z[g.active[a]]
		for i := range m.obs {
			s -= g.pull[i] * g.jac[i*n+a]
		}
		g.grad.SetVec(a, s)
		for b := a; b < n; b++ {
			var s float64
			if a == b {
				s = 1
			}
			for i := range m.obs {
				s += g.weight[i] * g.jac[i*n+a] * g.jac[i*n+b]
			}
			g.prec.SetSym(a, b, s)
		}
	}
}
