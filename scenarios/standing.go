package scenarios

import (
	_ "embed"
	"math"
	"slices"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/inference/belief"
	"ampwalk/diagnose/physics/condition"
	"ampwalk/diagnose/physics/plant"
	"ampwalk/scenarios/virtualsite"
)

//go:embed standing.toml
var standingFile []byte

// A standingQuestion is one that a visit asks of every system.
type standingQuestion struct {
	ID, Ask, Short string
	Answer         []struct{ ID, Text string }
}

// standingQuestions are all of them, in their order.
var standingQuestions = sync.OnceValue(func() []standingQuestion {
	return datafile.Read[struct{ Question []standingQuestion }]("scenarios/standing.toml", standingFile).Question
})

// What counts as low, and from where on as full, of the charge level (choices of this
// project); and what a battery may lose and still be said to lose nothing, of its capacity
// an hour: less than a controller takes.
const (
	lowTo     = 0.4
	fullFrom  = 0.8
	leastLoss = 1e-3
)

// standsAt is the right answer to each standing question at the bench now, by ids.
//
// It is a good time to use power where the sun gives at least what is used, since the
// battery gains or power is held back; the battery is there and not low; and the loads are
// not cut off (common practice).
func standsAt(b *virtualsite.Bench, truth []condition.ID) map[string]string {
	o, charge := b.Truth()
	yes := func(so bool) string {
		if so {
			return "yes"
		}
		return "no"
	}
	full := "middle"
	switch {
	case charge < lowTo:
		full = "low"
	case charge > fullFrom:
		full = "high"
	}
	apart := slices.Contains(truth, condition.BatteryOpen) || slices.Contains(truth, condition.BatteryOff)
	gains := o.Value[plant.BatteryA] > -leastLoss*b.Site().Battery.CapacityAh
	return map[string]string{
		"light": yes(o.Daylight), "charge": yes(o.Charging), "held": yes(o.Regulating), "full": full, "well": yes(truth[0] == condition.Sound),
		"use": yes((gains && o.Charging || o.Regulating) && charge >= lowTo && !o.LoadsCut && !apart),
	}
}

// standsBy is how probable the belief holds each answer to the standing questions, by ids;
// it has none for a good time to use power, which is a decision. The charge level is taken
// as normal between its 5 % and 95 % points.
func standsBy(r *belief.Result) map[string]map[string]float64 {
	two := func(p float64) map[string]float64 { return map[string]float64{"yes": p, "no": 1 - p} }
	s := r.State
	below := func(x float64) float64 {
		const between = 2 * 1.645 // deviations from the 5 % to the 95 % point of a normal
		sd := (s.ChargeLevel.P95 - s.ChargeLevel.P05) / between
		if !(sd > 0) {
			if s.ChargeLevel.Mean < x {
				return 1
			}
			return 0
		}
		return 0.5 * math.Erfc((s.ChargeLevel.Mean-x)/(sd*math.Sqrt2))
	}
	low, notHigh := below(lowTo), below(fullFrom)
	return map[string]map[string]float64{
		"light": two(s.Daylight), "charge": two(s.Charging), "held": two(s.Regulating), "well": two(s.AsDesigned),
		"full": {"low": low, "middle": max(notHigh-low, 0), "high": 1 - notHigh},
	}
}

// answerText is what an answer is called.
func (q standingQuestion) answerText(id string) string {
	i := slices.IndexFunc(q.Answer, func(a struct{ ID, Text string }) bool { return a.ID == id })
	if i < 0 {
		return ""
	}
	return q.Answer[i].Text
}
