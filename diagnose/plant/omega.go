package plant

import "math"

// omega is Wright's function: the y with y + ln y = z. It makes the current of
// a diode behind a resistance explicit in the voltage. Guess is a y to start
// from; 0: none.
//
// Source: the iteration of fourth order and its error term of P. W. Lawrence,
// R. M. Corless, D. J. Jeffrey, "Algorithm 917: complex double-precision
// evaluation of the Wright ω function", ACM Transactions on Mathematical
// Software 38 (2012) 20 (from memory; the test puts y back into the equation).
func omega(z, guess float64) float64 {
	y := guess
	r := z - y - math.Log(y)
	if !(math.Abs(r) < 0.5) {
		switch {
		case z > 1:
			l := math.Log(z)
			y = z - l + l/z
		case z > -2:
			y = math.Exp((z - 1) * 2 / 3)
		default:
			y = math.Exp(z)
		}
		if y == 0 {
			return 0
		}
		r = z - y - math.Log(y)
	}
	for range 4 {
		a := 1 + y
		b := 2 * a * (a + 2*r/3)
		rest := (2*y*y - 8*y - 1) * (r * r) * (r * r) / (72 * a * a * a * a * a * a)
		y *= 1 + r/a*(b-r)/(b-2*r)
		if math.Abs(rest) < 1e-12 {
			break
		}
		r = z - y - math.Log(y)
	}
	return y
}
