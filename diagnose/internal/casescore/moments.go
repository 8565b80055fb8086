package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/reading"
)

// moments are the moments of a visit that a diagnosis meets, by what they leave to see.
var moments = []string{"sun", "weak light", "dusk", "night", "run down"}

// duskBelow is the light below which a day counts as dusk [W/m2].
const duskBelow = 30

// moment is the kind of moment of a case: by its truth, and by the light that was read.
func (j *judgement) moment() string {
	light, read := j.input.Readings.Numbers[reading.Irradiance]
	switch cut := j.truth.State.LoadsCut; {
	case cut != nil && *cut:
		return "run down"
	case !j.truth.State.Daylight:
		return "night"
	case read && light < duskBelow:
		return "dusk"
	case read && light < belief.BrightFrom:
		return "weak light"
	default:
		return "sun"
	}
}

// byPart is the main figures for each part of the cases: by moment, and by the kind of
// controller and battery.
func byPart(js []judgement) string {
	var w strings.Builder
	fmt.Fprintf(&w, "\n%-18s %5s %16s %22s %10s\n", "", "cases", "acting, first", "healthy called faulty", "log loss")
	table := func(names []string, of func(*judgement) string) {
		for _, name := range names {
			var first, faulty share
			var loss mean
			n := 0
			for i := range js {
				j := &js[i]
				if of(j) != name {
					continue
				}
				n++
				if len(j.truth.Conditions) != 1 {
					continue
				}
				loss.add(-math.Log(max(minP, j.result.Of(j.truth.Conditions[0]))))
				switch {
				case j.truth.sound():
					faulty.add(j.result.Of(condition.Sound) < 0.5)
				case j.truth.lucky():
					first.add(j.rank() == 0)
				}
			}
			if n > 0 {
				fmt.Fprintf(&w, "%-18s %5d %9d of %3d %15d of %3d %10.3f\n", name, n, first.hits, first.of, faulty.hits, faulty.of, loss.sum/float64(max(1, loss.n)))
			}
		}
	}
	table(moments, (*judgement).moment)
	var families []string
	family := func(j *judgement) string {
		return string(j.input.Site.Controller.Kind) + " " + string(j.input.Site.Battery.Chemistry)
	}
	for i := range js {
		families = append(families, family(&js[i]))
	}
	slices.Sort(families)
	table(slices.Compact(families), family)
	return w.String()
}

// bins tell for each tenth of what was said how often it came true.
func (c calibration) bins() string {
	var w strings.Builder
	fmt.Fprintf(&w, "\n%-18s %5s %10s %10s\n", "said", "times", "mean", "came true")
	for b := range 10 {
		var sum float64
		var hits, n int
		for _, x := range c {
			if min(int(x.p*10), 9) != b {
				continue
			}
			n++
			sum += x.p
			if x.hit {
				hits++
			}
		}
		if n > 0 {
			fmt.Fprintf(&w, "%.1f to %.1f %14d %10.3f %10.3f\n", float64(b)/10, float64(b+1)/10, n, sum/float64(n), float64(hits)/float64(n))
		}
	}
	return w.String()
}
