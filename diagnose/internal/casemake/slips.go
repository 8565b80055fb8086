package main

import (
	"fmt"
	"math"
	"slices"
)

// slipShare is how many cases have a wrong reading.
const slipShare = 1.0 / 12

// spoil makes one reading wrong by more than its instrument errs, or all of a clamp that
// was not set to zero.
func (n *notebook) spoil() {
	if !n.chance(slipShare) {
		return
	}
	for range 20 {
		switch n.IntN(4) {
		case 0:
			n.notZeroed()
		case 1:
			n.turned()
		case 2:
			n.misplaced()
		default:
			n.mistyped()
		}
		if len(n.suspect) > 0 {
			return
		}
	}
}

// having are the keys among those asked for that were read, large enough to be spoilt.
func (n *notebook) having(least float64, keys ...string) []string {
	return slices.DeleteFunc(keys, func(k string) bool {
		v, ok := n.numbers[k]
		return !ok || math.Abs(v) < least
	})
}

func (n *notebook) change(key string, v float64) {
	n.numbers[key] = round(v, 2)
	n.suspect = append(n.suspect, key)
}

func (n *notebook) notZeroed() {
	keys := n.having(0, "array_a", "battery_a", "load_a")
	if len(keys) == 0 {
		return
	}
	if n.chance(0.5) {
		keys = []string{pick(n.dice, keys...)}
	}
	off := round(n.between(0.2, 0.7)*pick(n.dice, -1.0, 1), 2)
	for _, k := range keys {
		n.change(k, n.numbers[k]+off)
	}
	n.slip = fmt.Sprintf("clamp not zeroed, %+.2f A", off)
}

func (n *notebook) turned() {
	keys := n.having(0.3, "array_a", "battery_a")
	if len(keys) == 0 {
		return
	}
	k := pick(n.dice, keys...)
	n.change(k, -n.numbers[k])
	n.slip = "clamp turned round"
}

// misplaced probes touch nothing, or something else.
func (n *notebook) misplaced() {
	keys := n.having(2, "array_v", "battery_v", "post_v", "load_v", "load_end_v", "open_v", "rest_v")
	if len(keys) < 2 {
		return
	}
	k := pick(n.dice, keys...)
	if n.chance(0.5) {
		n.change(k, n.between(0, 0.3))
		n.slip = "probe not touching"
		return
	}
	other := pick(n.dice, keys...)
	if math.Abs(n.numbers[other]-n.numbers[k]) < 0.05*math.Abs(n.numbers[k]) {
		return
	}
	n.change(k, n.numbers[other])
	n.slip = "probe on " + other + " instead"
}

func (n *notebook) mistyped() {
	keys := n.having(2, "array_v", "battery_v", "post_v", "open_v", "rest_v", "load_step.post_v")
	if len(keys) == 0 {
		return
	}
	k := pick(n.dice, keys...)
	v := n.numbers[k]
	n.change(k, pick(n.dice, v+1, v-1, v+2, v-2, v/10))
	n.slip = "figure mistyped"
}
