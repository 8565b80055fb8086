package halfsplit

import (
	"fmt"

	"gonum.org/v1/gonum/mat"
)

// The circuit that faults are tried on: two rows of resistors, plus and minus, from a
// source to a sink, solved node by node. It shares nothing with the search but the
// names of the parts.

// An emf is a source with its inner resistance; 0 V is a plain resistor.
type emf struct{ volts, ohm float64 }

// A ladder is a circuit of n parts. Rung i stands before part i, rung n at the sink.
type ladder struct {
	plus, minus  []float64 // of each part [ohm]
	source, sink emf
	leak         float64 // from plus to minus at every rung [ohm]
	meter        float64 // the voltmeter's input [ohm]
}

// read is what a voltmeter without error shows from plus to minus at the rung [V].
func (l *ladder) read(rung int) float64 {
	v := l.solve(rung)
	n := len(l.plus)
	return v[rung] - v[n+1+rung]
}

// amperes is the current from the source's plus, nothing measured [A].
func (l *ladder) amperes() float64 {
	v := l.solve(-1)
	return (l.source.volts - (v[0] - v[len(l.plus)+1])) / l.source.ohm
}

// solve gives the voltages of the plus rungs 0 to n, then of the minus rungs, against
// the source's minus (nodal analysis). The meter is at the rung, or nowhere (-1).
func (l *ladder) solve(meter int) []float64 {
	n := len(l.plus)
	ground := n + 1
	size := 2 * (n + 1)
	g := mat.NewDense(size, size, nil)
	in := mat.NewVecDense(size, nil)
	join := func(a, b int, ohm, volts float64) {
		s := 1 / ohm
		for _, at := range []struct{ row, col int }{{a, b}, {b, a}} {
			g.Set(at.row, at.row, g.At(at.row, at.row)+s)
			g.Set(at.row, at.col, g.At(at.row, at.col)-s)
		}
		in.SetVec(a, in.AtVec(a)+volts*s)
		in.SetVec(b, in.AtVec(b)-volts*s)
	}
	join(0, ground, l.source.ohm, l.source.volts)
	join(n, ground+n, l.sink.ohm, l.sink.volts)
	for i := range n {
		join(i, i+1, l.plus[i], 0)
		join(ground+i, ground+i+1, l.minus[i], 0)
	}
	for i := range n + 1 {
		join(i, ground+i, l.leak, 0)
	}
	if meter >= 0 {
		join(meter, ground+meter, l.meter, 0)
	}
	for i := range size { // the ground's own row says that it is 0 V
		g.Set(ground, i, 0)
	}
	g.Set(ground, ground, 1)
	in.SetVec(ground, 0)
	var v mat.VecDense
	if err := v.SolveVec(g, in); err != nil {
		if _, ok := err.(mat.Condition); !ok { // many decades of resistance are meant
			panic(fmt.Sprintf("place: circuit without solution: %v", err))
		}
	}
	return v.RawVector().Data
}
