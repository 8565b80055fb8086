package day_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"ampwalk/diagnose/base/day"
)

// Whatever is typed names no day, or a midnight that its own date names again.
func FuzzRead(f *testing.F) {
	for _, text := range []string{
		"Friday", "1. December", "24 dec 2027", "in 10 days", "within a week", "next month", "by 2026-12-01 at noon",
		"29 Feb", "31 June", "0 Jan 0000", "in 1000 months", "in 99999999999999999999 weeks", "2026-99-99", "٣ يناير", "\x1b[31mmonday\xff",
	} {
		f.Add(text, int64(1_796_000_000))
	}
	f.Fuzz(func(t *testing.T, text string, unix int64) {
		from := time.Unix(unix%4_000_000_000, 0).UTC()
		d, ok := day.Read(text, from)
		if !ok {
			return
		}
		require.Equal(t, d, d.Truncate(24*time.Hour), "%q", text)
		again, ok := day.Read(d.Format(time.DateOnly), from)
		require.True(t, ok, "%q: %v", text, d)
		require.Equal(t, d, again, "%q", text)
	})
}
