package belief

import (
	"iter"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
	"ampwalk/diagnose/physics/site"
)

// A span is a part of a choice coordinate's 0 to 1.
type span struct{ lo, hi float64 }

var whole = span{0, 1}

func (s span) width() float64 { return s.hi - s.lo }
func (s span) mid() float64   { return (s.lo + s.hi) / 2 }

// A place is a point with what is chosen there.
type place struct {
	z      [dims]float64
	chosen [choices]span
}

// A mode is a most probable point of one hypothesis with the curvature there.
type mode struct {
	place
	hyp     int
	active  []int         // coordinates that the readings bear on
	prec    *mat.SymDense // precision matrix over active, the prior's 1 included
	tangent *tangent      // and what they are of, until its frame is made
	frame   *frame        // and its densities, once it is drawn from
	shapes  []shape
	alike   []*mode // of other hypotheses, that it draws for
	lnDet   float64 // of prec
	lnZ     float64 // evidence by Laplace's approximation, prior of the hypothesis included
	cost    float64 // minus the log of likelihood and prior density at z
}

// observes reports whether one of these was read.
func (m *model) observes(ks ...plant.Index) bool {
	return slices.ContainsFunc(m.obs, func(o observation) bool { return slices.Contains(ks, o.index) })
}

// twofold reports whether a condition has two severities.
func twofold(id condition.ID) bool {
	return id == condition.BatteryWorn || id == condition.BlockWeak || id == condition.ElectrolyteLow || id == condition.EarthFault
}

// has reports whether a listed load is of the kind.
func (m *model) has(kind site.LoadKind) bool {
	return slices.ContainsFunc(m.site.Loads, func(l site.Load) bool { return l.Kind == kind })
}

// active lists the coordinates that the readings taken bear on under h.
func (m *model) active(h *hypothesis) []int {
	has := m.observes
	rest := has(plant.RestV, plant.BlockLow, plant.BlockRest, plant.StepPostV, plant.StepBlockLow)
	mppt := m.site.Controller.Kind == site.MPPT
	skip := map[int]bool{
		dLightIsolated: !has(plant.OpenV, plant.ShortA, plant.Irradiance2, plant.ModuleC2),
		dCellIsolated:  !has(plant.OpenV, plant.ShortA, plant.ModuleC2),
		dStep:          !has(plant.StepA, plant.StepPostV, plant.StepBlockLow),
		dOneMinute:     !has(plant.StepPostV, plant.StepBlockLow),
		dSurface:       !rest,
		dTaken:         !has(plant.StepPostV, plant.StepBlockLow),
		dGravity:       !has(plant.GravityLow),
		dEfficiency:    !mppt,
		dTrack:         !mppt,
		dStart:         !mppt,
		dMisfitV:       true, // drawn from the prior: no reading has a slope along them
		dMisfitA:       true,
		dDraw:          !has(plant.LoadA, plant.LoadEndV, plant.InverterA, plant.BatteryA) || !m.has(site.Unsteady),
		dInverter:      m.site.Inverter == nil,
		dCharger:       m.charged == isOff,
		dChargerSet:    m.charged == isOff,
		dEarth:         !has(plant.PlusEarthV, plant.MinusEarthV),
		dGas:           !m.site.Battery.Chemistry.LeadAcid(),
		dSeverity:      len(h.ids) == 0,
		dSeverity2:     len(h.ids) == 0 || !twofold(h.ids[0]),
		dOther:         len(h.ids) < 2,
		dOther2:        len(h.ids) < 2 || !twofold(h.ids[1]),
	}
	var a []int
	for d := range firstError {
		if !skip[d] {
			a = append(a, d)
		}
	}
	return a
}

// search finds the most probable points of every hypothesis: it nears them from
// several starts, with trust in the readings and without, since one of them may be
// wrong, and goes on from where that leads within reach of the best.
func (m *model) search() [][]*mode {
	near := make([][]start, len(m.hyps))
	m.share(len(m.hyps), func(e *evaluator, k int) {
		h := &m.hyps[k]
		active := m.active(h)
		at, g := newTangent(m, h, e, active), newTangent(m, h, e, active)
		for _, from := range m.starts(h, e) {
			at.slopes(&from.z)
			for _, trusting := range [...]bool{false, true} {
				s := from
				s.hyp, s.trusting = k, trusting
				g.adopt(at)
				g.near(&s, 0)
				near[k] = apart(near[k], s)
			}
		}
	})
	m.giveUp(near, 0)
	going := slices.Concat(near...)
	m.share(len(going), func(e *evaluator, i int) {
		s := &going[i]
		g := newTangent(m, &m.hyps[s.hyp], e, m.active(&m.hyps[s.hyp]))
		g.slopes(&s.z)
		g.near(s, 1)
	})
	clear(near)
	for _, s := range going {
		near[s.hyp] = apart(near[s.hyp], s)
	}
	m.giveUp(near, 1)
	going = slices.Concat(near...)
	arrived := make([]*mode, len(going))
	m.share(len(going), func(e *evaluator, i int) {
		arrived[i] = m.arrive(going[i].hyp, going[i].z, going[i].chosen, e)
	})
	found := make([][]*mode, len(m.hyps))
	m.add(found, arrived)
	return found
}

// apart adds s to starts, if it is not where one of them is.
func apart(starts []start, s start) []start {
	if slices.ContainsFunc(starts, func(have start) bool { return have.covers(&s.place) }) {
		return starts
	}
	return append(starts, s)
}

// giveUp leaves out the starts that are out of reach after a stage of nearing, and
// remembers how near the best of all came.
func (m *model) giveUp(near [][]start, stage int) {
	m.nearest[stage] = math.Inf(1)
	for k, starts := range near {
		for _, s := range starts {
			m.nearest[stage] = min(m.nearest[stage], s.cost-m.hyps[k].lnPrior)
		}
	}
	for k := range near {
		near[k] = slices.DeleteFunc(near[k], func(s start) bool { return !m.inReach(k, s.cost, stage) })
	}
}

// inReach reports whether hypothesis k has come near enough to the best of all by a
// stage of nearing to be climbed on. Sound always is, to compare with.
func (m *model) inReach(k int, cost float64, stage int) bool {
	return k == 0 || cost-m.hyps[k].lnPrior <= m.nearest[stage]+reach[stage]
}

// reach after each stage of nearing, where the readings are still widened and all
// differences less than they are [nat].
var reach = [len(nearing)]float64{20, 13}

// nearAndArrive climbs from a place by all stages to the mode near it, nil where there
// is none within reach of the best.
func (m *model) nearAndArrive(k int, at place, e *evaluator) *mode {
	s := start{place: at}
	g := newTangent(m, &m.hyps[k], e, m.active(&m.hyps[k]))
	for stage := range nearing {
		g.slopes(&s.z)
		g.near(&s, stage)
		if !m.inReach(k, s.cost, stage) {
			return nil
		}
	}
	return m.arrive(k, s.z, s.chosen, e)
}

// exchange lets every hypothesis try the best points of the others: what one
// search missed another may have met.
func (m *model) exchange(found [][]*mode) {
	best := make([]*mode, 0, len(found))
	for _, f := range found {
		if len(f) > 0 {
			best = append(best, f[0])
		}
	}
	slices.SortStableFunc(best, func(a, b *mode) int { return compare(a.cost, b.cost) })
	best = best[:min(len(best), exchanged)]
	better := make([]*mode, len(found))
	m.share(len(found), func(e *evaluator, k int) {
		h := &m.hyps[k]
		own := math.Inf(1)
		if len(found[k]) > 0 {
			own = e.cost(&found[k][0].z, h, exchangeTemper)
		}
		var from *mode
		var at start
		for _, md := range best {
			if md.hyp == k {
				continue
			}
			s := start{place: md.place}
			options := []span{whole}
			if len(h.ids) > 0 {
				options = spans(h.options[0])
			}
			for _, o := range options {
				s.chosen[dOption-firstChoice], s.z[dOption] = o, o.mid()
				for _, x := range [...]float64{-1.5, 0, 1.5} {
					s.z[dSeverity] = x
					if s.cost = e.cost(&s.z, h, exchangeTemper); s.cost < own-exchangeGain {
						own, from, at = s.cost, md, s
					}
					if len(h.ids) == 0 {
						break
					}
				}
			}
		}
		if from != nil {
			better[k] = m.nearAndArrive(k, at.place, e)
		}
	})
	m.add(found, better)
}

// add puts modes that are new to those of their hypotheses.
func (m *model) add(found [][]*mode, more []*mode) {
	for _, md := range more {
		if md != nil && !slices.ContainsFunc(found[md.hyp], func(have *mode) bool { return have.covers(&md.place) }) {
			found[md.hyp] = append(found[md.hyp], md)
			slices.SortStableFunc(found[md.hyp], func(a, b *mode) int { return -compare(a.lnZ, b.lnZ) })
		}
	}
}

const (
	exchanged      = 10 // points that the others try
	exchangeTemper = startTemper / 9
	exchangeGain   = 1 // nats that another's point must be better at once
)

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// covers reports whether b is the same point as a with no choice open that a
// has not.
func (a *place) covers(b *place) bool {
	for i, s := range b.chosen {
		if s.lo < a.chosen[i].lo || s.hi > a.chosen[i].hi {
			return false
		}
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
	place
	hyp      int
	cost     float64
	regime   regime
	trusting bool // it nears with trust in every reading
}

// A regime is what divides starts: within one a search finds its own way.
type regime struct {
	regulating, charging, loadsCut bool
	option, other                  span
	start                          finer
}

// finer divides starts of one regime.
type finer struct {
	stage span // where it matters
	light float64
}

const (
	startsKept   = 3  // regimes
	startsFiner  = 1  // and starts that divide them further
	startsWithin = 25 // nats of the best
)

// setPointDoubt is how far below the lowest set-point it may still matter, a
// set-point that is too low included [V at 12 V].
const setPointDoubt = 1.8

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
		lights = []float64{m.lightZ(0.003), m.lightZ(0.1), m.lightZ(2), m.lightZ(120), 0.4, 1.4}
	case m.lightAt(base[dLight]) < 15: // a light meter says little in the dark
		lights = []float64{m.lightZ(0.003), m.lightZ(0.1), m.lightZ(2), base[dLight]}
	}
	charges := []float64{-1.2, -0.2, 0.6, 1.2, 1.8, 2.6}
	if len(m.stages) > 2 { // what equalises is as full as can be
		charges = append(charges, 3.8)
	}
	wakes := []float64{0} // from how little light an mppt controller works
	if m.site.Controller.Kind == site.MPPT && m.lightAt(base[dLight]) < 30 {
		wakes = append(wakes, -2)
	}
	severities := [2][]float64{{0}, {0}}
	options := [2][]span{{whole}, {whole}}
	for k := range h.ids {
		severities[k] = []float64{-1, 1}
		options[k] = spans(h.options[k])
	}
	all := make([]start, 0, 2*len(lights)*len(charges)*len(options[0])*len(options[1])*len(severities[0])*len(severities[1]))
	for at := range grid(len(lights), len(charges), len(options[0]), len(options[1]), len(severities[0]), len(severities[1]), len(wakes)) {
		z := base
		z[dLight], z[dCharge] = lights[at[0]], charges[at[1]]
		z[dSeverity], z[dOther] = severities[0][at[4]], severities[1][at[5]]
		z[dStart] = wakes[at[6]]
		stands := m.stand(&z, h, [2]span{options[0][at[2]], options[1][at[3]]}, e)
		for _, c := range stands {
			if len(stands) > 1 { // else it is where the evaluator stands
				for i, s := range c {
					z[firstChoice+i] = s.mid()
				}
				e.solve(&z, h)
			}
			cost := -e.roughly(startTemper/3) - e.logWords(h) + m.rarity(&z)
			all = append(all, start{place: place{z, c}, cost: cost, regime: e.regime(&z, c)})
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

// grid goes through all indices below sizes.
func grid(sizes ...int) iter.Seq[[]int] {
	return func(yield func([]int) bool) {
		at := make([]int, len(sizes))
		for {
			if !yield(at) {
				return
			}
			k := len(at) - 1
			for ; k >= 0; k-- {
				if at[k]++; at[k] < sizes[k] {
					break
				}
				at[k] = 0
			}
			if k < 0 {
				return
			}
		}
	}
}

// spans are the parts between 0, the cumulative shares and 1.
func spans(cumulative []float64) []span {
	var s []span
	lo := 0.0
	for _, hi := range cumulative {
		s = append(s, span{lo, hi})
		lo = hi
	}
	return s
}

// stand lists how the controller's choices may stand at z: its stage and a
// latched load output where they are in play, open where they are not. It leaves the
// plant solved with them open.
func (m *model) stand(z *[dims]float64, h *hypothesis, options [2]span, e *evaluator) [][choices]span {
	var c [choices]span
	for i := range c {
		c[i] = whole
	}
	c[dOption-firstChoice], c[dOtherOption-firstChoice] = options[0], options[1]
	for i, s := range c {
		z[firstChoice+i] = s.mid()
	}
	e.solve(z, h)
	m.choose(z, h, &c, e)
	s := &m.site.Controller
	lowest := min(m.plant.SetPoint(true, airMean), m.plant.SetPoint(false, airMean)) - setPointDoubt*m.scale12
	stages, latches := []span{whole}, []span{whole}
	if len(m.stages) > 2 || s.FloatV != s.AbsorbV && e.out.BusV >= lowest {
		stages = spans(m.stages)
	}
	if s.LoadOutput && (e.out.LoadsCut || e.out.BusV < s.RestoreV) {
		latches = spans([]float64{1 - latchShare, 1})
	}
	var all [][choices]span
	for at := range grid(len(stages), len(latches)) {
		c[dStage-firstChoice], c[dLatch-firstChoice] = stages[at[0]], latches[at[1]]
		all = append(all, c)
	}
	return all
}

// regime is that of the last solution.
func (e *evaluator) regime(z *[dims]float64, c [choices]span) regime {
	r := regime{
		regulating: e.out.Regulating, charging: e.out.Charging, loadsCut: e.out.LoadsCut,
		option: c[dOption-firstChoice], other: c[dOtherOption-firstChoice],
		start: finer{light: z[dLight]},
	}
	if r.regulating {
		r.start.stage = c[dStage-firstChoice]
	}
	return r
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
		z[dCell] = clip((v - air - (m.site.Array.Module.NOCTC-20)/800*g) / m.parts.cell)
	}
	if v, ok := num(reading.BatteryC); ok {
		z[dBatteryC] = clip((v - air + batteryBelowAir) / batterySpread)
	}
}

func clip(z float64) float64 { return min(max(z, -2.5), 2.5) }
