package belief

import (
	"math"
	"slices"
)

// A Range is where a reading lies in nine of ten cases, in its unit, the instrument's limits
// included: where it is densest, from Lo to Hi. Where that falls into two pieces, as of a
// circuit that is either live or cut off, nothing is in the gap between them; else GapLo
// and GapHi are alike.
type Range struct{ Lo, Hi, GapLo, GapHi float64 }

// A Piece is one piece of a range.
type Piece struct{ Lo, Hi float64 }

// Known reports whether r has ends.
func (r Range) Known() bool { return r != Range{} && !math.IsNaN(r.Lo+r.Hi) }

// Pieces are the pieces of r, from below.
func (r Range) Pieces() []Piece {
	if r.GapLo == r.GapHi {
		return []Piece{{r.Lo, r.Hi}}
	}
	return []Piece{{r.Lo, r.GapLo}, {r.GapHi, r.Hi}}
}

// Holds reports whether x lies in a piece of r, each widened at both ends by a part of what
// all are wide.
func (r Range) Holds(x, part float64) bool {
	margin := part * (r.Hi - r.Lo - (r.GapHi - r.GapLo))
	return slices.ContainsFunc(r.Pieces(), func(p Piece) bool { return x >= p.Lo-margin && x <= p.Hi+margin })
}

// As is r with its ends told by f, which is steady and may turn them round.
func (r Range) As(f func(float64) float64) Range {
	as := Range{f(r.Lo), f(r.Hi), f(r.GapLo), f(r.GapHi)}
	if as.Lo > as.Hi {
		as = Range{as.Hi, as.Lo, as.GapHi, as.GapLo}
	}
	return as
}

const (
	rangeShare = 0.9
	// Two pieces are told where they leave out more than half of the one, and each holds so
	// much of what is expected.
	pieceShare = 0.05
	gapShare   = 0.5
)

// densest is the range of draws of a reading, which it sorts.
func densest(xs []float64) Range {
	slices.Sort(xs)
	one := shortest(xs)
	r := Range{Lo: one.Lo, Hi: one.Hi}
	n := len(xs)
	least := max(1, int(pieceShare*float64(n)))
	split, widest := 0, 0.0
	for k := least; k <= n-least; k++ {
		if d := xs[k] - xs[k-1]; d > widest {
			split, widest = k, d
		}
	}
	if !(widest > gapShare*(one.Hi-one.Lo)) {
		return r
	}
	below, above := shortest(xs[:split]), shortest(xs[split:])
	if below.Hi-below.Lo+above.Hi-above.Lo < (1-gapShare)*(one.Hi-one.Lo) {
		r = Range{Lo: below.Lo, Hi: above.Hi, GapLo: below.Hi, GapHi: above.Lo}
	}
	return r
}

// shortest is the shortest piece that holds its share of sorted draws.
func shortest(xs []float64) Piece {
	more := max(0, int(math.Ceil(rangeShare*float64(len(xs))))-1)
	at := 0
	for k := range len(xs) - more {
		if xs[k+more]-xs[k] < xs[at+more]-xs[at] {
			at = k
		}
	}
	return Piece{xs[at], xs[at+more]}
}
