// Package fastmath has exponentials and logarithms that give their last bit or two for
// less than half the time of package math's (BenchmarkChain). Most of the time of a
// plant's solution goes into some that wait for one another, and much of an inference's.
//
// Source: the table-driven reductions of P. T. P. Tang, ACM Transactions on
// Mathematical Software 15 (1989) 144–157 and 16 (1990) 378–400 (from memory;
// the test compares with package math).
package fastmath

import "math"

// A part is 1/parts of a factor of two in the exponential's table, and of the
// mantissa's bits in the logarithm's.
const (
	partBits = 7
	parts    = 1 << partBits
	mantissa = 52 // bits
)

var (
	powers [parts]uint64                        // bits of 2^(k/parts), less k parts
	nodes  [parts]struct{ at, inv, ln float64 } // of the logarithm
)

func init() {
	for k := range uint64(parts) {
		powers[k] = math.Float64bits(math.Exp2(float64(k)/parts)) - k<<(mantissa-partBits)
		at := math.Float64frombits(lowest + k<<(mantissa-partBits))
		nodes[k].at, nodes[k].inv, nodes[k].ln = at, 1/at, math.Log(at)
	}
}

// lowest are the bits of 0.6875, from where the logarithm's mantissas run: so 1 is
// a node, and its logarithm exactly 0.
const lowest = 0x3fe6 << 48

// Exp is e to the x.
func Exp(x float64) float64 {
	if !(x > -700 && x < 700) {
		return math.Exp(x)
	}
	const (
		shift = 0x1.8p52 // added, it rounds to a whole number in the low bits
		c     = math.Ln2 / parts
	)
	t := x * (parts / math.Ln2)
	whole := t + shift
	k := math.Float64bits(whole)
	r := t - (whole - shift)
	s := math.Float64frombits(powers[k%parts] + k<<(mantissa-partBits))
	r2 := r * r
	return s + s*(r*c+r2*((c*c/2+r*(c*c*c/6))+r2*(c*c*c*c/24+r*(c*c*c*c*c/120))))
}

// Log is the natural logarithm of x.
func Log(x float64) float64 {
	if !(x > 1e-300 && x < 1e300) {
		return math.Log(x)
	}
	bits := math.Float64bits(x)
	from := bits - lowest
	n := &nodes[from>>(mantissa-partBits)%parts]
	z := math.Float64frombits(bits - from&^(1<<mantissa-1))
	r := (z - n.at) * n.inv // from 0 to 2/parts
	r2 := r * r
	p := r2 * (-1./2 + r*(1./3) + r2*(-1./4+r*(1./5)+r2*(-1./6+r*(1./7-r*(1./8)))))
	return float64(int64(from)>>mantissa)*math.Ln2 + n.ln + r + p
}
