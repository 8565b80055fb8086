package main

import (
	"testing"

	"ampwalk/scenarios"
)

// Making a visit and what was said of it, without a ledger.
func BenchmarkVisit(b *testing.B) {
	list, err := courses(scenarios.Embedded()[:2])
	if err != nil {
		b.Fatal(err)
	}
	p, err := newProgramme(100_000, 1, until, list)
	if err != nil {
		b.Fatal(err)
	}
	for i := 0; b.Loop(); i++ {
		data, err := p.visit(i)
		if kind := p.decision(i); err == nil && kind != "" {
			_, err = p.review(i, kind, data)
		}
		if err != nil {
			b.Fatal(err)
		}
	}
}
