package visiting

import (
	"math"
	"strconv"
	"strings"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/reading"
)

// recheckFrom is the probability of being wrong from which a reading is asked
// for once more: from there on the belief holds it for wrong (a choice of this
// project).
const recheckFrom = 0.5

// recheck asks once more for the reading that is most likely wrong, before more
// is built on it. A reading that was asked for again, or questioned when it was
// typed, has had its second look. It is asked only while it may be taken and
// the plant still is as the other readings met it.
func (v *Visit) recheck() (Prompt, bool) {
	if v.latest == nil || v.course.Ended(v.state) != "" || v.repairedAt() >= 0 {
		return Prompt{}, false
	}
	for _, s := range v.latest.Suspects {
		if s.P < recheckFrom {
			break
		}
		step, ok := v.course.StepFor(s.Reading)
		if !ok || !v.course.Repeatable(v.state, step.ID) || v.course.PutBack(v.state, step.ID) {
			continue
		}
		takes := v.Takes(step.ID)
		if len(takes) == 0 || v.repeated(step.ID) || takes[0].Doubted {
			continue
		}
		if why := v.suspicion(takes[0]); why != "" {
			return v.once(step, why), true
		}
	}
	return Prompt{}, false
}

// repeated reports whether the standing value of a step was asked for once
// more, whether or not it could be taken.
func (v *Visit) repeated(step string) bool {
	again := false
	for _, a := range v.history {
		if a.Step == step && a.Kind != Note {
			again = a.Repeats
		}
	}
	return again
}

// suspicion says why a reading does not fit, and what to look at, in one
// sentence; "" where there is nothing to look at any more.
func (v *Visit) suspicion(a Answer) string {
	w := words().Suspect
	spec, _ := reading.SpecOf(a.Reading)
	reason := w.Slip[string(spec.Meter)]
	if reason == "" {
		reason = w.Slip["other"]
	}
	switch {
	case spec.Meter == reading.Clamp && v.allShifted():
		if reason = v.zeroReason(); reason == "" {
			return ""
		}
	case a.Number != nil:
		r, ok := v.latest.Expect[a.Reading]
		r = r.As(spec.Shown)
		if name := mistake(spec.Shown(*a.Number), a.Typed, r); ok && name != "" {
			reason = w.Mistake[name]
			if own := w.Mistake[name+"-"+string(spec.Meter)]; own != "" {
				reason = own
			}
		}
	}
	return strings.NewReplacer("{value}", a.Text(), "{reason}", reason).Replace(w.Form)
}

// allShifted reports whether all of two or more clamp readings as found are
// taken for an outlier: what they share is the clamp's zero.
func (v *Visit) allShifted() bool {
	n := 0
	for _, spec := range reading.Specs {
		if _, ok := v.readings.Numbers[spec.Key]; !ok || spec.Meter != reading.Clamp || spec.Section != "as_found" {
			continue
		}
		step, _ := v.course.StepFor(spec.Key)
		if wrongP(v.latest, spec.Key) < recheckFrom && !v.repeated(step.ID) {
			return false
		}
		n++
	}
	return n >= 2
}

// zeroReason asks for one reading with the clamp zeroed. Where that one came
// out otherwise, the others are worth taking too; where it was confirmed the
// zero was set, and it is "".
func (v *Visit) zeroReason() string {
	for _, spec := range reading.Specs {
		step, ok := v.course.StepFor(spec.Key)
		if !ok || spec.Meter != reading.Clamp || spec.Section != "as_found" || !v.repeated(step.ID) {
			continue
		}
		takes := v.Takes(step.ID)
		first, last := takes[0].Number, takes[len(takes)-1].Number
		if first == nil || last == nil || math.Abs(*last-*first) <= v.readings.Instruments[reading.Clamp].Limit(0) {
			return ""
		}
		return words().Suspect.Mistake["zero-too"]
	}
	return words().Suspect.Mistake["zero"]
}

func wrongP(r *belief.Result, k reading.Key) float64 {
	for _, s := range r.Suspects {
		if s.Reading == k {
			return s.P
		}
	}
	return 0
}

// fitMargin widens a range of nine in ten to about 49 in 50, as a part of it.
const fitMargin = 0.2

// mistake names the slip that would bring the figure x into the range, "" if
// none would or x lies in it: the other sign, a factor of 1000 or 10, two
// digits exchanged, one digit wrong. It is found by the figure as typed.
func mistake(x float64, typed string, r belief.Range) string {
	fits := func(y float64) bool { return r.Holds(y, fitMargin) }
	any := func(ys []float64) bool {
		for _, y := range ys {
			if fits(y) {
				return true
			}
		}
		return false
	}
	scales := r.Lo > 0 || r.Hi < 0 // a range about zero holds a thousandth of anything
	figure := figureOf(x, typed)
	switch {
	case !r.Known() || fits(x):
		return ""
	case fits(-x):
		return "sign"
	case scales && (fits(1000*x) || fits(x/1000)):
		return "thousand"
	case scales && (fits(10*x) || fits(x/10)):
		return "ten"
	case any(exchanged(figure)):
		return "exchanged"
	case any(replaced(figure)):
		return "digit"
	}
	return ""
}

// figureOf is x as it was typed, or its shortest form where that had another
// unit or notation.
func figureOf(x float64, typed string) string {
	typed = strings.ReplaceAll(strings.Trim(typed, "+ VAC"), ",", ".")
	if y, err := strconv.ParseFloat(typed, 64); err == nil && y == x {
		return typed
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func isDigit(b byte) bool { return b >= '0' && b <= '9' }

// exchanged are the figures with two neighbouring digits exchanged.
func exchanged(figure string) []float64 {
	var list []float64
	last := -1
	for i := range len(figure) {
		if !isDigit(figure[i]) {
			continue
		}
		if last >= 0 {
			b := []byte(figure)
			b[last], b[i] = b[i], b[last]
			list = append(list, number(b))
		}
		last = i
	}
	return list
}

// replaced are the figures with one digit another.
func replaced(figure string) []float64 {
	var list []float64
	for i := range len(figure) {
		if !isDigit(figure[i]) {
			continue
		}
		b := []byte(figure)
		for d := byte('0'); d <= '9'; d++ {
			b[i] = d
			list = append(list, number(b))
		}
	}
	return list
}

// number is the value of digits that were a number before some were changed.
func number(digits []byte) float64 {
	x, err := strconv.ParseFloat(string(digits), 64)
	if err != nil {
		return math.NaN()
	}
	return x
}
