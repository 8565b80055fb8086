package halfsplit

import (
	"testing"

	"ampwalk/diagnose/physics/site"
)

// What a screen waits for: a reading taken in, and the next one chosen.
func BenchmarkWithAndNext(b *testing.B) {
	s := ChainOf(site.Demo(), Battery).Search(Joint, Ends{Source: 12.9, Sink: 12.3, Voltmeter: voltmeter, CurrentA: 3})
	for b.Loop() {
		s.With("battery-fuse-out", 12.6).Next()
	}
}
