// Package day reads days as people write them: "Friday", "1 Dec", "in two weeks".
//
// Start with [Read].
package day

import (
	_ "embed"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"ampwalk/diagnose/base/datafile"
)

//go:embed words.toml
var wordsFile []byte

type wordList struct {
	Weekdays, Months, Today, Tomorrow, Next, In, Days, Weeks, Numbers, One []string

	MonthsLong []string `toml:"months_long"`
}

var words = sync.OnceValue(func() wordList { return datafile.Read[wordList]("diagnose/base/day/words.toml", wordsFile) })

var token = regexp.MustCompile(`\d{4}-\d{2}-\d{2}|\d+|[\p{L}]+`)

// Read is the day that a text names, the first that it names, seen from the moment from. A
// weekday is the next one after that moment; a day of a month without a year lies within
// the year to come. False where no day is named, or one that the calendar does not have.
func Read(text string, from time.Time) (time.Time, bool) {
	at := time.Date(from.Year(), from.Month(), from.Day(), 0, 0, 0, 0, time.UTC)
	list := token.FindAllString(strings.ToLower(text), -1)
	for i := range list {
		if d, ok := begins(list[i:], at); ok {
			return d, true
		}
	}
	return time.Time{}, false
}

// begins is the day that a list of words begins with.
func begins(list []string, at time.Time) (time.Time, bool) {
	w := words()
	is := func(i int, of []string) bool { return i < len(list) && slices.Contains(of, list[i]) }
	if d, err := time.Parse(time.DateOnly, list[0]); err == nil {
		return d, true
	}
	switch {
	case is(0, w.Today):
		return at, true
	case is(0, w.Tomorrow):
		return at.AddDate(0, 0, 1), true
	case is(0, w.Next) && len(list) > 1:
		if d, ok := after(1, list[1], at); ok {
			return d, true
		}
	case is(0, w.In) && len(list) > 2:
		if n, ok := number(list[1]); ok {
			return after(n, list[2], at)
		}
	}
	if n := named(list[0], w.Weekdays); n >= 0 {
		days := (n-int(at.Weekday())+6)%7 + 1
		return at.AddDate(0, 0, days), true
	}
	if len(list) < 2 {
		return time.Time{}, false
	}
	dayOf, month := list[0], list[1]
	if named(dayOf, w.Months) >= 0 {
		dayOf, month = month, dayOf
	}
	n, err := strconv.Atoi(dayOf)
	m := named(month, w.Months)
	if err != nil || m < 0 {
		return time.Time{}, false
	}
	year, given := at.Year(), false
	if len(list) > 2 && len(list[2]) == 4 {
		if y, err := strconv.Atoi(list[2]); err == nil {
			year, given = y, true
		}
	}
	d := time.Date(year, time.Month(m+1), n, 0, 0, 0, 0, time.UTC)
	if !given && d.Before(at) {
		d = time.Date(year+1, time.Month(m+1), n, 0, 0, 0, 0, time.UTC)
	}
	return d, d.Day() == n // 31 June is no day
}

// after is so many units from a day.
func after(n int, unit string, at time.Time) (time.Time, bool) {
	w := words()
	switch {
	case slices.Contains(w.Days, unit):
		return at.AddDate(0, 0, n), true
	case slices.Contains(w.Weeks, unit):
		return at.AddDate(0, 0, 7*n), true
	case slices.Contains(w.MonthsLong, unit):
		return at.AddDate(0, n, 0), true
	}
	return time.Time{}, false
}

func number(text string) (int, bool) {
	w := words()
	if n, err := strconv.Atoi(text); err == nil {
		return n, n <= 1000
	}
	if slices.Contains(w.One, text) {
		return 1, true
	}
	i := slices.Index(w.Numbers, text)
	return i + 1, i >= 0
}

// named is the place of a word, or of what it is the beginning of, in a list; -1 for none.
func named(text string, list []string) int {
	const least = 3
	if len(text) < least {
		return -1
	}
	return slices.IndexFunc(list, func(whole string) bool { return strings.HasPrefix(whole, text) })
}
