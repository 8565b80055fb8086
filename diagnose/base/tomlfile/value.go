package tomlfile

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"ampwalk/diagnose/base/plaintext"
)

// value finds what the file has for name; a missing one is reported.
func (t *Table) value(name, expected string) (any, bool) {
	v, ok := t.values[name]
	if !t.Has(name) && t.Present() {
		t.ReportMissing(name, words().Expected, expected)
	}
	return v, ok
}

func (t *Table) wrongType(name string, v any, expected string) {
	t.Report(name, words().WrongType, typeName(v), expected)
}

func typeName(v any) string {
	switch v := v.(type) {
	case string:
		return fmt.Sprintf(words().Type.Text, v)
	case int64:
		return fmt.Sprintf(words().Type.Whole, v)
	case float64:
		return fmt.Sprintf(words().Type.Number, v)
	case bool:
		return fmt.Sprintf("%t", v)
	case []any:
		return words().Type.List
	case map[string]any:
		return words().Type.Table
	case time.Time:
		return words().Type.DateTime
	case toml.LocalDateTime:
		return words().Type.LocalDateTime
	case toml.LocalDate:
		return words().Type.Date
	case toml.LocalTime:
		return words().Type.TimeOfDay
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
	return strings.TrimSpace(fmt.Sprintf(words().Want.Range, Decimal(r.Min), Decimal(r.Max), r.Unit))
}

// Decimal writes v without exponent, with as many places as it needs but at
// most four.
func Decimal(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e4)/1e4, 'f', -1, 64)
}

// Number is the number name.
func (t *Table) Number(name string, in Range) float64 {
	v, ok := t.value(name, fmt.Sprintf(words().Want.Number, in))
	if !ok {
		return 0
	}
	n, ok := number(v)
	if !ok {
		t.wrongType(name, v, fmt.Sprintf(words().Want.Number, in))
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
		t.Report(name, words().NotUsable, which, in)
	default:
		t.Report(name, words().OutOfRange, which, n, in)
	}
	return false
}

// Numbers is the list of numbers name; nil if something is wrong with it.
func (t *Table) Numbers(name string, in Range) []float64 {
	expected := fmt.Sprintf(words().Want.Numbers, in)
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
			t.Report(name, words().Entry, i+1, typeName(v), expected)
		} else {
			t.within(name, fmt.Sprintf(words().EntryHead, i+1), ns[i], in)
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
	v, ok := t.value(name, fmt.Sprintf(words().Want.Whole, in))
	if !ok {
		return 0
	}
	n, ok := v.(int64)
	if !ok {
		t.wrongType(name, v, fmt.Sprintf(words().Want.Whole, in))
		return 0
	}
	if !t.within(name, "", float64(n), in) {
		return 0
	}
	return int(n)
}

// Bool is the truth value name.
func (t *Table) Bool(name string) bool {
	v, ok := t.value(name, words().Want.Bool)
	if !ok {
		return false
	}
	b, ok := v.(bool)
	if !ok {
		t.wrongType(name, v, words().Want.Bool)
	}
	return b
}

// Text is the text name: one line, not empty.
func (t *Table) Text(name string) string {
	v, ok := t.value(name, words().Want.Text)
	if !ok {
		return ""
	}
	return t.text(name, v)
}

// Bounds of a text and of a name [letters], far above real ones; judgement.
const (
	longestText = 4000
	longestName = 200
)

// Name is the text name, short enough for a line or two.
func (t *Table) Name(name string) string {
	s := t.Text(name)
	if n := utf8.RuneCountInString(s); n > longestName {
		t.Report(name, words().TooLong, n, longestName)
		return ""
	}
	return s
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
		t.wrongType(name, v, words().Want.QuotedText)
	case strings.TrimSpace(s) == "":
		t.Report(name, "%s", words().Empty)
	case utf8.RuneCountInString(s) > longestText:
		t.Report(name, words().TooLong, utf8.RuneCountInString(s), longestText)
	case plaintext.Clean(s) != s:
		t.Report(name, words().NotPlain, s)
	default:
		return s
	}
	return ""
}

// Texts is the list of texts name; it may be empty.
func (t *Table) Texts(name string) []string {
	v, ok := t.value(name, words().Want.Texts)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		t.wrongType(name, v, words().Want.Texts)
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
	t.Report(name, words().NotKnown, s, oneOf(choices))
	return ""
}

// Words is the text name or the list of texts name, each one of the choices
// and none twice.
func (t *Table) Words(name string, choices ...string) []string {
	expected := fmt.Sprintf(words().Want.OrList, oneOf(choices))
	v, ok := t.value(name, expected)
	if !ok {
		return nil
	}
	list, ok := v.([]any)
	if !ok {
		list = []any{v}
	}
	if len(list) == 0 {
		t.Report(name, words().EmptyList, expected)
	}
	var chosen []string
	for _, v := range list {
		s, ok := v.(string)
		if !ok {
			t.wrongType(name, v, expected)
			continue
		}
		if slices.Contains(chosen, s) {
			t.Report(name, words().Twice, s)
			continue
		}
		chosen = append(chosen, t.word(name, s, choices))
	}
	return chosen
}

// oneOf lists choices: `"lit" or "out"`.
func oneOf(choices []string) string {
	quoted := make([]string, len(choices))
	for i, c := range choices {
		quoted[i] = strconv.Quote(c)
	}
	switch n := len(quoted); n {
	case 0:
		return words().Want.Nothing
	case 1:
		return quoted[0]
	default:
		return fmt.Sprintf(words().Want.Or, strings.Join(quoted[:n-1], ", "), quoted[n-1])
	}
}

// Time is the offset date-time name.
func (t *Table) Time(name string) time.Time {
	expected := words().Want.Time
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
