package belief

import (
	"math"
	"slices"

	"ampwalk/diagnose/physics/plant"
	"ampwalk/diagnose/physics/reading"
)

// Particles that stand for the posterior when the worth of a reading is reckoned: so
// many in all, shared by probability, and of what is not negligible so many at the
// least, since to rule out what is rare is worth something too.
const (
	gainParticles = 400
	gainEach      = 50
	gainFrom      = 0.002
)

// gainBins divide a reading's predictive range.
const gainBins = 16

// levelWorth weighs knowing how full the battery is against knowing what is
// wrong: it decides what may be switched on, not what must be mended.
const levelWorth = 0.25

// draws picks n particles of equal weight.
func draws(ps []particle, n int) []*particle {
	out := make([]*particle, 0, n)
	var all, sum float64
	for i := range ps {
		all += ps[i].weight
	}
	step := all / float64(n)
	next := 0.5 * step
	for i := range ps {
		sum += ps[i].weight
		for sum > next && len(out) < n {
			out = append(out, &ps[i])
			next += step
		}
	}
	return out
}

// A stand-in is a particle with the part of the posterior that it stands for.
type standIn struct {
	*particle
	part float64
}

// standIns picks some particles of every hypothesis that is not negligible.
func standIns(ps []particle) []standIn {
	var out []standIn
	for from := 0; from < len(ps); {
		to, share := from, 0.0
		for ; to < len(ps) && ps[to].hyp == ps[from].hyp; to++ {
			share += ps[to].weight
		}
		least := gainEach
		if share < gainFrom {
			least = 1
		}
		n := max(least, int(math.Round(gainParticles*share)))
		for _, p := range draws(ps[from:to], n) {
			if k := len(out) - 1; k >= 0 && out[k].particle == p {
				out[k].part += share / float64(n)
			} else {
				out = append(out, standIn{p, share / float64(n)})
			}
		}
		from = to
	}
	return out
}

// gains is the expected information of every reading that the site has and
// that has not been tried, about which condition it is and how the plant stands.
func (m *model) gains(ps []particle) []Gain {
	d := standIns(ps)
	what := make([]int, len(d))  // condition and regime
	level := make([]int, len(d)) // third of the charge
	for i, p := range d {
		what[i] = p.hyp << 3
		for b, f := range []bool{p.out.Daylight, p.out.Regulating, p.out.LoadsCut} {
			if f {
				what[i] |= 1 << b
			}
		}
		level[i] = min(int(m.chargeAt(p.z[dCharge])*3), 2)
	}
	what, kinds := compact(what)
	keys := m.offered()
	list := make([]Gain, len(keys))
	m.share(len(keys), func(_ *evaluator, i int) {
		table := m.outcomes(keys[i], d)
		bits := information(table, d, what, kinds) + levelWorth*information(table, d, level, 3)
		list[i] = Gain{Reading: keys[i], Bits: bits}
	})
	slices.SortStableFunc(list, func(a, b Gain) int { return -compare(a.Bits, b.Bits) })
	return list
}

// compact renumbers labels from 0.
func compact(labels []int) ([]int, int) {
	seen := map[int]int{}
	out := make([]int, len(labels))
	for i, l := range labels {
		n, ok := seen[l]
		if !ok {
			n = len(seen)
			seen[l] = n
		}
		out[i] = n
	}
	return out, len(seen)
}

// offered lists the readings that the site has, with none yet.
func (m *model) offered() []reading.Key {
	var ks []reading.Key
	for _, spec := range reading.Specs {
		switch {
		case slices.Contains([]reading.Key{reading.Minutes, reading.StepA, reading.RunW}, spec.Key): // they only say how another was taken
		case spec.Form == reading.Several && spec.Key != reading.NotWorking, spec.Form == reading.YesNo, spec.Key == reading.Visit:
			// asked of every site at the beginning
		case reading.Offered(spec.Key, m.site):
			ks = append(ks, spec.Key)
		}
	}
	for _, l := range m.site.Controller.Lamps {
		ks = append(ks, reading.Lamp(l.Label))
	}
	if m.site.Inverter != nil {
		for _, l := range m.site.Inverter.Lamps {
			ks = append(ks, reading.InverterLamp(l.Label))
		}
	}
	return slices.DeleteFunc(ks, func(k reading.Key) bool {
		return m.set.Has(k) || slices.Contains(m.set.NotTaken, k)
	})
}

// outcomes tables, for every particle, the chance of each outcome of k.
func (m *model) outcomes(k reading.Key, d []standIn) [][]float64 {
	spec, _ := reading.SpecOf(k)
	table := make([][]float64, len(d))
	if k == reading.NotWorking {
		for i, p := range d {
			table[i] = m.deadOutcomes(&m.hyps[p.hyp], &p.out)
		}
		return table
	}
	if spec.Form == reading.Word {
		w := word{key: k}
		if label, ok := k.LampLabel(); ok {
			l, _ := m.site.Lamp(label)
			w.lamp = &l
		}
		if label, ok := k.InverterLabel(); ok {
			l, _ := m.site.InverterLamp(label)
			w.lamp = &l
		}
		for i, p := range d {
			table[i] = m.chances(&w, &m.hyps[p.hyp], &p.out, nil)
		}
		return table
	}
	o := m.ask(spec)
	mean := make([]float64, len(d))
	sd := make([]float64, len(d))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, p := range d {
		mean[i], sd[i] = m.predict(&o, &p.z, &p.out), m.spread(&o, &p.out)
		lo, hi = min(lo, mean[i]-2*sd[i]), max(hi, mean[i]+2*sd[i])
	}
	// Bins of equal probability: where the predictions are dense, bins are narrow.
	sorted := slices.Clone(mean)
	slices.Sort(sorted)
	edges := make([]float64, 0, gainBins+1)
	for b := 1; b < gainBins; b++ {
		x := sorted[b*(len(sorted)-1)/gainBins]
		if len(edges) == 0 || x > edges[len(edges)-1] {
			edges = append(edges, x)
		}
	}
	// And some of equal width, for what is rare but far away.
	for b := 1; b < gainBins/2; b++ {
		edges = append(edges, lo+(hi-lo)*float64(b)/(gainBins/2))
	}
	slices.Sort(edges)
	edges = slices.Compact(edges)
	outcomes := len(edges) + 1
	all := make([]float64, outcomes*len(d))
	for i := range d {
		table[i] = all[i*outcomes : (i+1)*outcomes]
		between(table[i], edges, mean[i], sd[i])
	}
	return table
}

// deadOutcomes are the chances that no load, each load alone, and more than one does not work.
func (m *model) deadOutcomes(h *hypothesis, out *plant.Out) []float64 {
	n := len(m.site.Loads)
	row := make([]float64, n+2)
	row[0] = 1
	for i := range n {
		dead := m.deadChance(i, h, out)
		for j := 1; j <= i; j++ {
			row[n+1] += row[j] * dead
			row[j] *= 1 - dead
		}
		row[i+1] = row[0] * dead
		row[0] *= 1 - dead
	}
	return row
}

// between fills row with the chances of a normal value to lie below, between and above
// the edges.
func between(row, edges []float64, mean, sd float64) {
	prev := 0.0
	for b, x := range edges {
		c := phi((x - mean) / sd)
		row[b] = c - prev
		prev = c
	}
	row[len(edges)] = 1 - prev
}

// ask makes the observation that reading spec would be.
func (m *model) ask(spec reading.Spec) observation {
	i, ok := plant.IndexOf(spec.Key)
	if !ok {
		i, _ = plant.ListOf(spec.Key)
	}
	return m.observation(spec, i, 0, 2*m.scatter(spec.Key, nil))
}

// information between a label and an outcome [bits]. Estimated from few stand-ins, the
// chances of the outcomes under a label differ from the true ones and from each other
// even where there is no information: what that adds, to second order in the variance of
// the chances, is taken off.
//
// Source: the bias of plug-in estimates, G. A. Miller, "Note on the bias of information
// estimates", 1955 (from memory), here for outcomes that are not certain.
func information(table [][]float64, d []standIn, label []int, labels int) float64 {
	if len(table) == 0 {
		return 0
	}
	outcomes := len(table[0])
	// Sums over the stand-ins of a label: weights and their squares; of the chances of an
	// outcome, by weights, and squares of weights by them and by their squares.
	weight, weight2 := make([]float64, labels), make([]float64, labels)
	sums := make([]struct{ p, wp, wp2 float64 }, labels*outcomes)
	for i, row := range table {
		w, l := d[i].part, label[i]
		weight[l] += w
		weight2[l] += w * w
		under := sums[l*outcomes : (l+1)*outcomes]
		for b, p := range row {
			s := &under[b]
			s.p += w * p
			s.wp += w * w * p
			s.wp2 += w * w * p * p
		}
	}
	var all, nats, chance float64
	for _, w := range weight {
		all += w
	}
	for b := range outcomes {
		var overall, variance float64 // of the outcome's chance
		for l := range labels {
			overall += sums[l*outcomes+b].p / all
		}
		if overall <= 0 {
			continue
		}
		for l := range labels {
			s, w := &sums[l*outcomes+b], weight[l]
			if s.p <= 0 {
				continue
			}
			p, share := s.p/w, w/all
			nats += share * p * math.Log(p/overall)
			n := w * w / weight2[l] // stand-ins of equal weight
			v := p * (1 - p)        // of one alone nothing is known but the most that it can be
			if n > 1.5 {
				v = min((s.wp2-2*p*s.wp+p*p*weight2[l])/(w*w)*n/(n-1), v/(n-1))
			}
			chance += share * v / p / 2
			variance += share * share * v
		}
		chance -= variance / overall / 2
	}
	return max(0, (nats-chance)/math.Ln2)
}
