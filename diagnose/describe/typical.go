package describe

import (
	"math"

	"ampwalk/diagnose/strict"
)

// A rule gives a typical value; questions.toml explains its parts.
type rule struct {
	Where    string
	Is       string
	From, To *float64

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
	for _, r := range q.rules {
		if v, ok := d.value(r); ok {
			return Typical{strict.Decimal(v), r.Why, r.Spread}, true
		}
	}
	return Typical{}, false
}

func (d Draft) value(r rule) (float64, bool) {
	if !d.applies(r) {
		return 0, false
	}
	if r.Value != nil {
		return *r.Value, true
	}
	v := r.Times
	if v == 0 {
		v = 1
	}
	for _, key := range r.Of {
		x, ok := d.number(key)
		if !ok {
			return 0, false
		}
		v *= x
	}
	for _, key := range r.Over {
		x, ok := d.number(key)
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
	x, ok := d.number(r.Where)
	return ok && (r.From == nil || x >= *r.From) && (r.To == nil || x < *r.To)
}

// number is the number at path.
func (d Draft) number(path string) (float64, bool) {
	switch v, _ := d.text.Value(path); v := v.(type) {
	case int64:
		return float64(v), true
	case float64:
		return v, true
	default:
		return 0, false
	}
}
