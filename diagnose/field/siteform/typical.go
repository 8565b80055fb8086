package siteform

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"ampwalk/diagnose/base/tomlfile"
	"ampwalk/diagnose/physics/site"
)

// A rule gives a typical value; questions.toml explains its parts.
type rule struct {
	Where    string
	Is       string
	From, To *float64

	Word     string
	Value    *float64
	Times    float64
	Of, Over []string

	Round, Least float64
	Why, Spread  string
}

// A Typical is a value to assume where the right one cannot be read.
type Typical struct {
	Text   string // as one would type it
	Why    string // what it rests on
	Spread string // how far nine in ten lie from it, "" where nobody can say
}

// Typical is the typical value for q by what is known so far.
func (d Draft) Typical(q Question) (Typical, bool) {
	if q.Form == Pair {
		return d.typicalPair(q)
	}
	for _, r := range q.rules {
		if r.Word != "" && d.applies(r) {
			return Typical{Text: r.Word, Why: r.Why}, true
		}
		if v, ok := d.value(r); ok {
			return Typical{tomlfile.Decimal(v), r.Why, d.spread(q, r)}, true
		}
	}
	return Typical{}, false
}

// spread is how far nine in ten lie from the value of r: what the rule itself
// leaves open, and what is assumed of the figures that it starts from.
func (d Draft) spread(q Question, r rule) string {
	var sum float64
	for _, key := range slices.Concat(r.Of, r.Over) {
		if x, ok := d.text.Number(key); ok && x != 0 {
			rel := 100 * site.DoubtOf(key, x, d.text.Comment(key)) / x
			sum += rel * rel
		}
	}
	if sum == 0 || q.Form == Count {
		return r.Spread
	}
	if own, ok := strings.CutSuffix(r.Spread, " %"); ok {
		x, _ := strconv.ParseFloat(own, 64) // the rules are tested
		sum += x * x
	}
	return tomlfile.Decimal(math.Round(math.Sqrt(sum))) + " %"
}

func (d Draft) value(r rule) (float64, bool) {
	if !d.applies(r) {
		return 0, false
	}
	if r.Value != nil {
		return *r.Value, true
	}
	if r.Word != "" {
		return 0, false
	}
	v := r.Times
	if v == 0 {
		v = 1
	}
	for _, key := range r.Of {
		x, ok := d.text.Number(key)
		if !ok {
			return 0, false
		}
		v *= x
	}
	for _, key := range r.Over {
		x, ok := d.text.Number(key)
		if !ok || x == 0 {
			return 0, false
		}
		v /= x
	}
	if r.Round > 0 {
		v = math.Round(v/r.Round) * r.Round
	}
	v = max(v, r.Least)
	return v, !math.IsNaN(v) && !math.IsInf(v, 0)
}

// applies reports whether the condition of a rule holds.
func (d Draft) applies(r rule) bool {
	if r.Where == "" {
		return true
	}
	if r.Is != "" {
		v, _ := d.text.Value(r.Where)
		return v == r.Is
	}
	x, ok := d.text.Number(r.Where)
	return ok && (r.From == nil || x >= *r.From) && (r.To == nil || x < *r.To)
}

// Filled is d with all that is still needed and has a typical value assumed.
func (d Draft) Filled() (Draft, error) {
	for before := -1; ; {
		left := d.Left()
		if len(left) == before {
			return d, nil
		}
		before = len(left)
		for _, q := range left {
			t, ok := d.Typical(q)
			if !ok {
				continue // perhaps by what comes after it
			}
			next, err := d.assume(q, t)
			if err != nil {
				return d, err
			}
			d = next
		}
	}
}

// usual is the typical value for q where what is not known yet is as usual too.
func (d Draft) usual(q Question) (Typical, bool) {
	if t, ok := d.Typical(q); ok {
		return t, true
	}
	filled, err := d.Filled()
	if err != nil {
		return Typical{}, false
	}
	if without, err := filled.Clear(q); err == nil {
		return without.Typical(q)
	}
	return Typical{}, false
}
