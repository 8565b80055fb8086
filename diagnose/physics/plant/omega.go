package plant

import (
	"math"

	"ampwalk/diagnose/internal/fastmath"
)

// omega is Wright's function: the y with y + ln y = z. It makes the current of
// a diode behind a resistance explicit in the voltage. Guess is a y to start
// from; 0: none.
//
// Source: the iteration of fourth order and its error term of P. W. Lawrence,
// R. M. Corless, D. J. Jeffrey, "Algorithm 917: complex double-precision
// evaluation of the Wright ω function", ACM Transactions on Mathematical
// Software 38 (2012) 20 (from memory; the test puts y back into the equation).
func omega(z, guess float64) float64 {
	y, r := guess, math.Inf(1)
	if y > 0 {
		r = z - y - fastmath.Log(y)
	}
	if !(math.Abs(r) < 0.5) {
		if z > -2 {
			if z > 1 {
				l := fastmath.Log(z)
				y = z - l + l/z
			} else {
				y = fastmath.Exp((z - 1) * 2 / 3)
			}
			r = z - y - fastmath.Log(y)
		} else if y = fastmath.Exp(z); y == 0 {
			return 0
		} else {
			r = -y
		}
	}
	for range 6 {
		// One step leaves less than r⁴/50, relative.
		a := 1 + y
		b := 2 * a * (a + 2*r/3)
		y *= 1 + r*(b-r)/(a*(b-2*r))
		if math.Abs(r) < 2e-3 {
			break
		}
		r = z - y - fastmath.Log(y)
	}
	return y
}
