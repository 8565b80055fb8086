package tui

import "testing"

// BenchmarkDescribeKey is a key with its live check and the frame after it; the
// 95th of a hundred is to stay under 16 ms.
func BenchmarkDescribeKey(b *testing.B) {
	d := describeDemo(&shelf{}, "array.module.imp_a")
	for b.Loop() {
		d.press("9", "backspace")
		_ = d.m.View()
	}
}
