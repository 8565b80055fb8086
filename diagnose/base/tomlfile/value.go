package tomlfile

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/base/plaintext"
)

// value finds what the file has for name; a missing one is reported.
func (t *Table) value(name, expected string) (any, bool) {
	v, ok := t.values[name]
	if !t.Has(name) && t.Present() {
		t.ReportMissing(name, "expected %s", expected)
	}
	return v, ok
}

func (t *Table) wrongType(name string, v any, expected string) {
	t.Report(name, "is %s; expected %s", typeName(v), expected)
}

func typeName(v any) string {
	switch v := v.(type) {
	case string:
		return fmt.Sprintf("the text %q", v)
	case int64:
		return fmt.Sprintf("the whole number %d", v)
	case float64:
		return fmt.Sprintf("the number %g", v)
	case bool:
		return fmt.Sprintf("%t", v)
	case []any:
		return "a list"
	case map[string]any:
		return "a table"
	case time.Time:
		return "a date and time"
	case toml.LocalDateTime:
		return "a date and time without offset"
	case toml.LocalDate:
		return "a date"
	case toml.LocalTime:
		return "a time of day"
	default:
		return fmt.Sprintf("%v", v)
	}
}

// A Range is the values a number may have, ends included.
type Range struct {
	Min, Max float64
	Unit     string // as people write it; "" for none
}

// Contains reports whether v is in the range; NaN is in none.
func (r Range) Contains(v float64) bool { return v >= r.Min && v <= r.Max }

// String is the range in words: "0 to 90 °".
func (r Range) String() string {
	return strings.TrimSpace(fmt.Sprintf("%s to %s %s", Decimal(r.Min), Decimal(r.Max), r.Unit))
}

// Decimal writes v without exponent, with as many places as it needs but at
// most four.
func Decimal(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
}

// Number is the number name.
func (t *Table) Number(name string, in Range) float64 {
	v, ok := t.value(name, "a number, "+in.String())
	if !ok {
		return 0
	}
	n, ok := number(v)
	if !ok {
		t.wrongType(name, v, "a number, "+in.String())
		return 0
	}
	if !t.within(name, "", n, in) {
		return 0
	}
	return n
}

// NumberOr is the number name, or absent where the file has none.
func (t *Table) NumberOr(name string, in Range, absent float64) float64 {
	if !t.Has(name) {
		return absent
	}
	return t.Number(name, in)
}

func number(v any) (float64, bool) {
	switch v := v.(type) {
	case float64:
		return v, true
	case int64:
		return float64(v), true
	default:
		return 0, false
	}
}

// within reports a number out of range; which says which one of a list.
func (t *Table) within(name, which string, n float64, in Range) bool {
	switch {
	case in.Contains(n):
		return true
	case math.IsNaN(n), math.IsInf(n, 0):
		t.Report(name, "%sis not a usable number; expected %s", which, in)
	default:
		t.Report(name, "%s%g is out of range; expected %s", which, n, in)
	}
	return false
}

// Numbers is the list of numbers name; nil if something is wrong with it.
func (t *Table) Numbers(name string, in Range) []float64 {
	expected := "a list of numbers, each " + in.String()
	v, ok := t.value(name, expected)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.wrongType(name, v, expected)
		return nil
	}
	ns := make([]float64, len(list))
	for i, v := range list {
		if ns[i], ok = number(v); !ok {
			t.Report(name, "entry %d is %s; expected %s", i+1, typeName(v), expected)
		} else {
			t.within(name, fmt.Sprintf("entry %d: ", i+1), ns[i], in)
		}
	}
	if t.faulty[name] {
		return nil
	}
	return ns
}

// Count is the whole number name.
func (t *Table) Count(name string, least, most int) int {
	in := Range{Min: float64(least), Max: float64(most)}
	v, ok := t.value(name, "a whole number, "+in.String())
	if !ok {
		return 0
	}
	n, ok := v.(int64)
	if !ok {
		t.wrongType(name, v, "a whole number, "+in.String())
		return 0
	}
	if !t.within(name, "", float64(n), in) {
		return 0
	}
	return int(n)
}

// Bool is the truth value name.
func (t *Table) Bool(name string) bool {
	v, ok := t.value(name, "true or false")
	if !ok {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		t.wrongType(name, v, "true or false")
	}
	return b
}

// Text is the text name: one line, not empty.
func (t *Table) Text(name string) string {
	v, ok := t.value(name, "a text")
	if !ok {
		return ""
	}
	return t.text(name, v)
}

// TextIfAny is the text name, "" where the file has none.
func (t *Table) TextIfAny(name string) string {
	if !t.Has(name) {
		return ""
	}
	return t.Text(name)
}

func (t *Table) text(name string, v any) string {
	s, ok := v.(string)
	switch {
	case !ok:
		t.wrongType(name, v, "a text in quotes")
	case strings.TrimSpace(s) == "":
		t.Report(name, "is empty; expected a text")
	case plaintext.Clean(s) != s:
		t.Report(name, "%q has control or invisible characters; expected plain text on one line", s)
	default:
		return s
	}
	return ""
}

// Texts is the list of texts name; it may be empty.
func (t *Table) Texts(name string) []string {
	v, ok := t.value(name, "a list of texts")
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.wrongType(name, v, "a list of texts")
		return nil
	}
	texts := []string{}
	for _, v := range list {
		texts = append(texts, t.text(name, v))
	}
	return texts
}

// Word is the text name, one of the choices.
func (t *Table) Word(name string, choices ...string) string {
	v, ok := t.value(name, oneOf(choices))
	if !ok {
		return ""
	}
	s, ok := v.(string)
	if !ok {
		t.wrongType(name, v, oneOf(choices))
		return ""
	}
	return t.word(name, s, choices)
}

func (t *Table) word(name, s string, choices []string) string {
	if slices.Contains(choices, s) {
		return s
	}
	t.Report(name, "%q is not known here; expected %s", s, oneOf(choices))
	return ""
}

// Words is the text name or the list of texts name, each one of the choices
// and none twice.
func (t *Table) Words(name string, choices ...string) []string {
	expected := oneOf(choices) + ", or a list of these"
	v, ok := t.value(name, expected)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		list = []any{v}
	}
	if len(list) == 0 {
		t.Report(name, "is an empty list; expected %s", expected)
	}
	var words []string
	for _, v := range list {
		s, ok := v.(string)
		if !ok {
			t.wrongType(name, v, expected)
			continue
		}
		if slices.Contains(words, s) {
			t.Report(name, "%q is given twice; expected it once", s)
			continue
		}
		words = append(words, t.word(name, s, choices))
	}
	return words
}

// oneOf lists choices: `"lit" or "out"`.
func oneOf(choices []string) string {
	quoted := make([]string, len(choices))
	for i, c := range choices {
		quoted[i] = strconv.Quote(c)
	}
	switch n := len(quoted); n {
	case 0:
		return "nothing"
	case 1:
		return quoted[0]
	default:
		return strings.Join(quoted[:n-1], ", ") + " or " + quoted[n-1]
	}
}

// Time is the offset date-time name.
func (t *Table) Time(name string) time.Time {
	const expected = "a date and time with its offset from UTC, such as 2026-11-20T10:30:00+02:00"
	v, ok := t.value(name, expected)
	if !ok {
		return time.Time{}
	}
	at, ok := v.(time.Time)
	if !ok {
		t.wrongType(name, v, expected)
	}
	return at
}
