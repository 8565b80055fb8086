package halfsplit

import (
	"cmp"
	"math"
	"slices"

	"ampwalk/diagnose/physics/quantity"
)

// Ends are what is known of the two ends of the circuit. A figure that was not taken
// is NaN, see [NoReading].
type Ends struct {
	Source    float64             // at the chain's node Source, with the sign [V]
	Sink      float64             // at the chain's node Sink, with the sign [V]
	Voltmeter quantity.Instrument // what all voltages are read with
	Far       Far                 // what holds the far side of a break; for open circuits only
	CurrentA  float64             // from the source to the sink, for joints only [A]
}

// A Search is what is believed of the parts after some readings. It is a value: no
// method changes it.
type Search struct {
	chain    *Chain
	fault    Fault
	ends     Ends
	readings []taken  // sorted, so that their order does not matter
	without  []string // nodes that cannot be reached
	mixture  []component
}

type taken struct {
	node  Node
	volts float64
}

// A Belief is how likely a part is the one.
type Belief struct {
	Part Part
	P    float64
}

// A Span is where nine in ten right readings would lie [V]; NaN where the node can
// show nothing of the kind.
type Span struct{ Lo, Hi float64 }

// What a search goes on for.
const (
	// Sure is from when on a part is named. A further reading costs 1 to 3 minutes, the
	// repair of a wrong part about 40: below 1 in 20 wrong a reading does not pay
	// (judgement).
	Sure = 0.95

	// MinBits is the least that a reading must be expected to tell, the same as of a
	// visit's other readings (a choice of this project).
	MinBits = 0.04

	// oftenest is how often a node is offered: again, in case the first reading was a
	// slip, but no third time.
	oftenest = 2
)

// Search begins with what is known of the ends.
func (c *Chain) Search(f Fault, e Ends) Search {
	s := Search{chain: c, fault: f, ends: e}
	s.mixture = s.prior()
	return s.With(c.Source, e.Source).With(c.Sink, e.Sink)
}

// With is the search after a reading at the node [V]. A second reading of a node
// stands beside the first, each of which may be wrong. One at an unknown node, or of
// no finite voltage, tells nothing.
func (s Search) With(node string, volts float64) Search {
	n, ok := s.chain.Node(node)
	if !ok || math.IsNaN(volts) || math.IsInf(volts, 0) {
		return s
	}
	s.readings = append(slices.Clip(s.readings), taken{n, volts})
	slices.SortFunc(s.readings, func(a, b taken) int {
		return cmp.Or(cmp.Compare(a.node.behind, b.node.behind), cmp.Compare(a.volts, b.volts))
	})
	s.mixture = s.prior()
	for _, r := range s.readings {
		s.mixture = s.update(s.mixture, r.node, r.volts)
	}
	return s
}

// Without is the search where the node cannot be reached: it is not offered any more.
func (s Search) Without(node string) Search {
	s.without = append(slices.Clip(s.without), node)
	return s
}

// Parts are all parts of the circuit, the likeliest first.
func (s Search) Parts() []Belief {
	list := make([]Belief, len(s.chain.Parts))
	for i, p := range byPart(s.mixture, len(list)) {
		list[i] = Belief{s.chain.Parts[i], p}
	}
	slices.SortStableFunc(list, func(a, b Belief) int { return cmp.Compare(b.P, a.P) })
	return list
}

// Left are the fewest parts that hold the fault together as surely as one part is
// named, the likeliest first: one where the place is found.
func (s Search) Left() []Belief {
	list := s.Parts()
	var sum float64
	for i, b := range list {
		if sum += b.P; sum >= Sure {
			return list[:i+1]
		}
	}
	return list
}

func byPart(mixture []component, n int) []float64 {
	p := make([]float64, n)
	for _, c := range mixture {
		p[c.part] += c.weight
	}
	var sum float64
	for _, x := range p {
		sum += x
	}
	for i := range p {
		p[i] /= sum
	}
	return p
}

// Next is the node whose reading is expected to tell most for its minutes, and how much
// it tells about the part [bits]. It is false where one part is sure, or where no node
// that can be reached tells enough. Its Far and current are those of the ends: who
// changes them begins another search.
func (s Search) Next() (Node, float64, bool) {
	left := s.Left()
	if len(left) < 2 {
		return Node{}, 0, false
	}
	var best Node
	var most float64
	for _, n := range s.chain.Nodes {
		if !s.offers(n) {
			continue
		}
		if bits := s.worth(n); bits >= MinBits && (best.ID == "" || bits/n.Minutes > most/best.Minutes) {
			best, most = n, bits
		}
	}
	return best, most, best.ID != ""
}

func (s Search) offers(n Node) bool {
	var times int
	for _, r := range s.readings {
		if r.node.ID == n.ID {
			times++
		}
	}
	return times < oftenest && !slices.Contains(s.without, n.ID)
}

// Range is what a right reading at the node would show: where all parts before it are
// whole, and where the one at fault is before it.
func (s Search) Range(node string) (whole, behind Span) {
	n, ok := s.chain.Node(node)
	if !ok {
		return Span{math.NaN(), math.NaN()}, Span{math.NaN(), math.NaN()}
	}
	var before, after []component
	for _, c := range s.mixture {
		if c.part < n.behind {
			after = append(after, c)
		} else {
			before = append(before, c)
		}
	}
	return s.span(before, n), s.span(after, n)
}
