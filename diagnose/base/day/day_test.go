package day_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	_ "ampwalk/diagnose/base/effort" // fixes the seed of rapid

	"ampwalk/diagnose/base/day"
)

// The days by a wall calendar: 30 November 2026 is a Monday (ISO 8601, from memory).
func TestRead(t *testing.T) {
	monday := time.Date(2026, 11, 30, 17, 5, 0, 0, time.UTC)
	for text, want := range map[string]string{
		"Friday": "2026-12-04", "friday, early": "2026-12-04", "on Fri.": "2026-12-04", "Monday": "2026-12-07", "Sunday": "2026-12-06",
		"next Friday": "2026-12-04", "1 Dec": "2026-12-01", "1. December": "2026-12-01", "Dec 1": "2026-12-01", "24 dec 2027": "2027-12-24",
		"5 Jan": "2027-01-05", "30 Nov": "2026-11-30", "29 Feb 2028": "2028-02-29", "today": "2026-11-30", "tomorrow morning": "2026-12-01",
		"in two weeks": "2026-12-14", "in 10 days": "2026-12-10", "within a week": "2026-12-07", "next month": "2026-12-30", "in a month": "2026-12-30",
		"2026-12-01": "2026-12-01", "by 2026-12-01 at noon": "2026-12-01",
		"": "", "soon": "", "31 June": "", "29 Feb": "", "in some weeks": "", "as soon as the part is here": "", "12": "", "we": "",
	} {
		got, ok := day.Read(text, monday)
		said := ""
		if ok {
			said = got.Format(time.DateOnly)
		}
		assert.Equal(t, want, said, "%q", text)
	}
}

// A weekday is within a week, and is that weekday; nothing that is typed ends badly.
func TestWeekdays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "from"), 0).UTC()
		name := time.Weekday(rapid.IntRange(0, 6).Draw(t, "weekday"))
		d, ok := day.Read(name.String(), from)
		assert.True(t, ok)
		assert.Equal(t, name, d.Weekday())
		assert.True(t, d.After(from) && d.Before(from.AddDate(0, 0, 8)))
		day.Read(rapid.String().Draw(t, "text"), from)
	})
}
