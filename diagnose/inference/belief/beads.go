package belief

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// A valley that the readings leave long bends more than one frame can follow:
// the same voltage comes of any light but the dimmest, of a full battery with a
// dead cell and of a sound one half full. Modes of their own along it, as beads
// on a string, bring its far ends into reach.
const (
	beadFrom  = 0.35 // standard deviation of a coordinate, from which its valley is long
	beadStep  = 1.0  // standard deviations from the mode
	beadReach = 2.5  // furthest place of a bead
	beadMost  = 3    // modes that get beads
	beadDeep  = 4    // nats that a bead may lie below its mode
)

// beaded are the coordinates along which valleys are long: their maps to what
// the plant shows are far from lines.
var beaded = [...]int{dLight, dCharge, dSeverity}

// beads adds modes along the valleys of the best modes of some hypotheses.
func (s *sampling) beads(hyps []int) {
	best := s.best(hyps, beadMost)
	more := make([]*mode, 2*len(beaded)*len(best))
	s.m.share(len(more), func(e *evaluator, i int) {
		md, d, sign := best[i/(2*len(beaded))].as, beaded[i/2%len(beaded)], float64(2*(i%2)-1)
		more[i] = md.bead(d, sign, e)
	})
	s.include(more)
}

// bead is the most probable point where coordinate d is held to one side of the
// mode, with the curvature there; nil where it is not worth having.
func (md *mode) bead(d int, sign float64, e *evaluator) *mode {
	m, h := e.m, &e.m.hyps[md.hyp]
	at := slices.Index(md.active, d)
	if at < 0 {
		return nil
	}
	var chol mat.Cholesky
	if !chol.Factorize(md.prec) {
		return nil
	}
	unit := mat.NewVecDense(len(md.active), nil)
	unit.SetVec(at, 1)
	var column mat.VecDense // of the covariance
	if chol.SolveVecTo(&column, unit) != nil {
		return nil
	}
	sd := math.Sqrt(column.AtVec(at))
	if sd < beadFrom {
		return nil
	}
	b := &mode{place: md.place, hyp: md.hyp, active: md.active}
	step := sign * beadStep / sd // what moves along is read off the covariance
	for j, c := range md.active {
		b.z[c] += step * column.AtVec(j)
	}
	if math.Abs(b.z[d]) > beadReach {
		return nil
	}
	held := newTangent(m, h, e, slices.Delete(slices.Clone(md.active), at, at+1))
	held.climb(&b.z, arriving)
	if !b.settle(newTangent(m, h, e, b.active)) || b.lnZ < md.lnZ-beadDeep || !b.ready(e) {
		return nil
	}
	return b
}
