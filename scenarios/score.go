package scenarios

import (
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/scenarios/virtualsite"
)

// The most points of each part of the score, and what hints cost (choices of
// this project).
const (
	maxSafety   = 30
	maxFindings = 40
	maxEconomy  = 15
	maxMethod   = 15
)

var (
	hintCost   = [hintsOf]int{2, 4, 8}
	breachCost = [...]float64{0, 5, 12, 30} // by severity
)

// safety takes off for each breach.
func safety(list []virtualsite.Breach) float64 {
	points := float64(maxSafety)
	for _, b := range list {
		points -= breachCost[b.Severity]
	}
	return max(points, 0)
}

// Brier is the quadratic score of weights on conditions against what is so,
// from 0 for all on the right ones to 1 for all on a wrong one: half of the sum
// of squares. It is proper: who believes p expects least by saying p.
//
// Source: Brier, Monthly Weather Review 78 (1950) 1–3; proper by Gneiting and
// Raftery, J. Amer. Stat. Assoc. 102 (2007) 359–378 (both from memory). Two
// conditions at once share the one.
func Brier(weights map[condition.ID]float64, could, truth []condition.ID) float64 {
	is := map[condition.ID]float64{}
	for _, id := range truth {
		is[id] = 1 / float64(len(truth))
	}
	var sum float64
	full := completed(weights, could)
	for _, id := range could {
		d := full[id] - is[id]
		sum += d * d / 2
	}
	return sum
}

// completed spreads what the weights leave of 1 evenly over the conditions that
// got none, or over all.
func completed(weights map[condition.ID]float64, could []condition.ID) map[condition.ID]float64 {
	full := map[condition.ID]float64{}
	var sum float64
	var open []condition.ID
	for _, id := range could {
		full[id] = weights[id]
		sum += weights[id]
		if weights[id] == 0 {
			open = append(open, id)
		}
	}
	if sum > 1 {
		for id := range full {
			full[id] /= sum
		}
		return full
	}
	if len(open) == 0 {
		open = could
	}
	for _, id := range open {
		full[id] += (1 - sum) / float64(len(open))
	}
	return full
}

// realFrom is from how many instrument readings on a practice counts whole (a choice of this
// project: after so many the first question comes); fewer where the informed order took fewer.
const realFrom = askEvery

// real is the part of the points that counts, 0 to 1, by how much was measured: who
// measures nothing is in no danger, and has found nothing either.
func real(measured, informed int) float64 {
	least := min(realFrom, informed)
	if least == 0 { // nothing needs to be measured
		return 1
	}
	return min(1, float64(measured)/float64(least))
}

// economy compares the number of readings with the informed order's.
func economy(readings, informed int, right bool) float64 {
	if !right || readings == 0 { // few readings that led nowhere are no economy
		return 0
	}
	return maxEconomy * min(1, float64(informed)/float64(readings))
}

// method is the share of the points of the questions.
func method(asked []*question) (points float64, any bool) {
	if len(asked) == 0 {
		return 0, false
	}
	sum := 0.0
	for _, q := range asked {
		if q.answer >= 0 {
			sum += q.points[q.answer]
		}
	}
	return maxMethod * sum / float64(len(asked)), true
}

// total adds up; where no question came, the other parts stand for method.
func total(s practicelog.Score, method bool) float64 {
	sum := s.Safety + s.Findings + s.Economy
	if method {
		sum += s.Method
	} else {
		sum *= 100. / (100 - maxMethod)
	}
	return min(max(sum+s.Hints, 0), 100)
}
